"""Which confirmed modes a reading backs, and which one a reading contradicts.

A label is *backed* when a reading that confirms its mode lies outside its limit and
none rules the mode out; *contradicted* when a reading rules it out; otherwise
*unbacked*. It is *doubted* when the unit came back within 90 days with a symptom it
had before, until a later version of the case confirms or changes the label; a label
that is contradicted stays so. What each reading says is data: `label_rules.csv` and
`protocol.csv` of the catalogue, made from the check x mode table (common practice, no
source). They are read so:

- Readings of intake and diagnosis count, taken no later than the day of the first
  reading after a repair. Readings on site count for `supply_out_of_range` and
  `supply_miswired` alone; readings after a repair never count.
- The last reading of each stage, point and condition counts. Where a fault goes away
  by what was done (dried, cleaned, reseated, reloaded) every reading counts.
- *backs*: one failed reading. For a latch switch and the a.c. trip current the value
  must lie on the side that the mode means.
- *together_out*: every check of this role has passed, which rules the mode out. A
  check has passed when all points it needs are recorded, each in every condition has
  passed, and, where a fault comes and goes with movement, a flexed one is among them.
  A value that failed on the other side counts as passed here.
- *fails_out*, *passes_out*: what must be good, or bad, beside the check that confirms.
  A core that fails alone is no handle joint; one that passes is no broken core.
- `no_fault_found` and `vehicle_side_fault` are contradicted by any failed reading, and
  backed only by the whole protocol. The current setting is not in the records, so that
  the pilot duty needs no pass there, only no fail.

Not checked, since no reading says it: which damage was seen on inspection; what did
not work when the unit would not boot; whether a contactor pole was open or only high;
whether a pilot leak stayed with the handle off; which lead a wiring check was made on;
whether terminals were tight, pins clean, loads unplugged, a tester proved; whether the
pilot duty agrees with a wrong setting; whether the a.c. trip was in order beside the
d.c. one; a fuse that nobody measured; for the protocol, whether the checks of the
likeliest modes were repeated and another good charger was tried.
"""

from collections.abc import Iterable, Mapping

import pandas as pd

from analytics.advice.gate import BY_CONDUCTOR, FIXED_POINTS, needed_points, point_name
from ingest.catalogue import LabelRule, checks, label_rules, protocol

SUPPORTS = ("backed", "unbacked", "doubted", "contradicted")
# Trust in P(evidence | mode); how often a mode occurs counts all labels alike. One half
# for a label that nothing proves is a start, to be replaced from later repeat returns.
WEIGHTS: Mapping[str, float] = {
    "backed": 1.0,
    "unbacked": 0.5,
    "doubted": 0.5,
    "contradicted": 0.0,
}
BACK_WITHIN_DAYS = 90
# Outcomes of the whole protocol, which no single check confirms.
OUTSIDE_MODES = ("no_fault_found", "vehicle_side_fault")
# With these the protocol needs the soak.
COMES_AND_GOES = (
    *("charge_stops_early", "stops_when_cable_moved", "works_when_cable_moved"),
    *("fails_when_wet", "fails_when_hot", "ground_fault_trips_sometimes"),
    "upstream_device_trips",
)
CHECKS_WITH_POINTS = (*BY_CONDUCTOR, *FIXED_POINTS)
_BENCH = ("intake", "diagnosis")
STAGES: Mapping[str, tuple[str, ...]] = {
    "bench": _BENCH,
    "on_site": ("on_site",),
    "any": ("on_site", *_BENCH),
}


def weight_of(supports: Iterable[object]) -> list[float]:
    """Return how far each label is trusted, 1 where it has no support to speak of."""
    return [WEIGHTS.get(str(support), 1.0) for support in supports]


def rules() -> pd.DataFrame:
    """Return every rule, one row each: what one check says about one mode.

    Returns
    -------
    DataFrame
        rule_no, mode, check, connector (None for both), role, points (plain names,
        empty for all), side, counts, stages, flexed; for the protocol also grouped
        (one check of a group is enough), only_for, and needs_pass.
    """
    rows = [_row(rule) for rule in label_rules()]
    for mode in OUTSIDE_MODES:
        rows += [_row(_outside_rule(mode, check, "fails_out")) for check in checks()]
        rows += [
            _row(_outside_rule(mode, step.check, "protocol", flexed=step.flexed))
            | {
                "grouped": step.group,
                "only_for": step.only_for,
                "needs_pass": step.result == "passed",
            }
            for step in protocol()
        ]
    found = pd.DataFrame(rows)
    found.insert(0, "rule_no", range(1, len(found) + 1))
    return found


def points_needed(units: pd.DataFrame) -> pd.DataFrame:
    """Return the points that each check needs, for each kind of unit.

    Parameters
    ----------
    units : DataFrame
        Distinct `connector`, `phases`, `supply_system`; empty where not recorded.

    Returns
    -------
    DataFrame
        The same columns, `check`, and `needs`: one list of plain names for each point
        needed, of which any one will do.
    """
    columns = ["connector", "phases", "supply_system"]
    rows: list[dict[str, object]] = []
    for values in units[columns].itertuples(index=False, name=None):
        known = {
            name: None if pd.isna(value) else value
            for name, value in zip(columns, values, strict=True)
        }
        rows += [
            known | {"check": check, "needs": _alternatives(check, known)}
            for check in CHECKS_WITH_POINTS
        ]
    return pd.DataFrame(rows, columns=[*columns, "check", "needs"])


def _alternatives(check: str, known: Mapping[str, object]) -> list[list[str]]:
    needed = needed_points(check, known)
    return [[point_name(name) for name in need.split(" or ")] for need in needed]


def _row(rule: LabelRule) -> dict[str, object]:
    return {
        "mode": rule.mode,
        "check": rule.check,
        "connector": checks()[rule.check].connector,
        "role": rule.role,
        "points": [point_name(point) for point in rule.points],
        "side": rule.side,
        "counts": rule.counts,
        "stages": list(STAGES[rule.stages]),
        "flexed": rule.flexed,
        "grouped": None,
        "only_for": None,
        "needs_pass": True,
    }


def _outside_rule(
    mode: str, check: str, role: str, *, flexed: bool = False
) -> LabelRule:
    return LabelRule(
        mode=mode,
        check=check,
        role=role,
        points=(),
        side=None,
        counts="last",
        stages="bench",
        flexed=flexed,
        source="common practice, no source",
    )
