"""From readings to the outcome of each check, and to the gate before mains.

A check has passed only when every point it needs is recorded and the last reading
of each point, in every condition it was recorded in, has passed. A value without a
point counts for one point only; an outcome without a point speaks for all.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import nan

from analytics.advice.limits import Context, number, recorded, word
from ingest.catalogue import checks, codes

BY_CONDUCTOR = (
    "contactor_open",
    "contactor_close",
    "path_resistance",
    "contact_resistance",
    "line_continuity",
    "output_voltage_by_state",
)
FIXED_POINTS = {
    "earth_continuity": ("handle", "metal"),
    "insulation_resistance": ("supply-PE", "handle-PE", "handle-handle"),
}
# A bench cannot show what only the site has: there the record made on site speaks.
SITE_SPEAKS = ("supply_voltage",)
INCOMPLETE = "incomplete"
# One-line systems have a neutral, two-line systems a second line.
SECOND_CONDUCTOR = {"120": "N", "208": "L2", "240": "L2", "230": "N"}


@dataclass(frozen=True, slots=True)
class JudgedReading:
    """One reading with its outcome, as `evaluate_reading` gave it.

    `has_value` is True where a number was measured and False where only an outcome
    was recorded. `order` sorts readings in time; equal ones keep their sequence.
    `probability_of_fail` is nan and `side` (low or high, of a value outside its limit)
    None where nobody said; so are `day` and `technician`, any labels of them.
    """

    check: str
    outcome: str
    stage: str
    point: str | None = None
    condition: str | None = None
    order: float = 0.0
    has_value: bool = True
    probability_of_fail: float = nan
    side: str | None = None
    day: str | None = None
    technician: str | None = None


@dataclass(frozen=True, slots=True)
class CheckState:
    """Outcome of a check over all its points, and the points still missing.

    `outcome` is pass, fail, undefined, not_done or incomplete (all that is recorded
    has passed, and points are missing).
    """

    outcome: str
    missing_points: tuple[str, ...]


def needed_points(check: str, context: Context) -> tuple[str, ...]:
    """Return the points a check needs for the unit at hand.

    Parameters
    ----------
    check : str
        Code of the check.
    context : mapping
        `connector`, `phases` and `supply_system` are used; an unknown connector or
        number of phases asks for more points, never for fewer.

    Returns
    -------
    tuple of str
        Names of points, `L2 or N` where either will do; empty where one reading at
        any point is enough.

    Raises
    ------
    ValueError
        If there is no such check.
    """
    if check not in checks():
        raise ValueError(f"no check is called {check!r}")
    if check in BY_CONDUCTOR:
        return _conductors(context)
    return FIXED_POINTS.get(check, ())


def _conductors(context: Context) -> tuple[str, ...]:
    connector = word(context, "connector", codes("connectors"))
    system = word(context, "supply_system", codes("supply_systems"))
    if connector == "type_1":
        return ("L1", SECOND_CONDUCTOR.get(system or "", "L2 or N"))
    single = number(context, "phases") == 1
    if connector == "type_2" and single:
        return ("L1", "N")
    return ("L1", "L2", "L3", "N")


def check_states(
    readings: Iterable[JudgedReading], context: Context, *, repaired: bool = False
) -> dict[str, CheckState]:
    """Return the state of every check that has a reading.

    Parameters
    ----------
    readings : iterable of JudgedReading
        All readings of one case.
    context : mapping
        Facts about the unit, as `needed_points` takes them.
    repaired : bool
        True once a repair was made, also before the first reading after it: then
        only readings of stage after_repair pass a gate check. A reading of that
        stage says so by itself.

    Returns
    -------
    dict of str to CheckState
        A check without any reading that counts is not in it.

    Raises
    ------
    ValueError
        If a reading names no known check or stage.
    """
    ordered = sorted(readings, key=lambda reading: reading.order)
    by_check: dict[str, list[tuple[int, JudgedReading]]] = {}
    for place, reading in enumerate(ordered):
        if reading.check not in checks():
            raise ValueError(f"no check is called {reading.check!r}")
        if reading.stage not in codes("stages"):
            raise ValueError(f"no stage is called {reading.stage!r}")
        by_check.setdefault(reading.check, []).append((place, reading))
    after = [place for place, r in enumerate(ordered) if r.stage == "after_repair"]
    since = after[0] if after else len(ordered) if repaired else None
    states = {}
    for check, own in by_check.items():
        gate = checks()[check].gate
        counted = _counted_for_gate(own, since) if gate else _counted(own)
        if counted:
            states[check] = _state(counted, needed_points(check, context))
    return states


def check_outcomes(
    readings: Iterable[JudgedReading], context: Context, *, repaired: bool = False
) -> dict[str, str]:
    """Return the outcome of every check with a reading, as `next_check` takes it.

    Parameters and errors as `check_states`.
    """
    states = check_states(readings, context, repaired=repaired)
    return {check: state.outcome for check, state in states.items()}


def gate_is_open(outcomes: Mapping[str, str]) -> bool:
    """Tell whether every gate check of the catalogue has passed.

    Parameters
    ----------
    outcomes : mapping of str to str
        As `check_outcomes` gives them. That the unit is still proved dead is for
        the technician to say; this does not know it.
    """
    gates = (check.code for check in checks().values() if check.gate)
    return all(outcomes.get(code) == "pass" for code in gates)


def _counted_for_gate(
    own: list[tuple[int, JudgedReading]], since: int | None
) -> list[JudgedReading]:
    """Return the readings that speak for a gate check.

    On site only a fail counts. After a repair (from place `since` on) a pass counts
    only if of stage after_repair; what is no pass counts at any stage.
    """
    if since is None:
        return [r for _, r in own if r.stage != "on_site" or r.outcome == "fail"]
    return [
        r
        for place, r in own
        if r.stage == "after_repair" or (place > since and r.outcome != "pass")
    ]


def _counted(own: list[tuple[int, JudgedReading]]) -> list[JudgedReading]:
    """Return the readings of the stage that speaks for a check outside the gate."""
    site = [r for _, r in own if r.stage == "on_site"]
    bench = [r for _, r in own if r.stage in ("intake", "diagnosis")]
    after = [r for _, r in own if r.stage == "after_repair"]
    if site and site[0].check in SITE_SPEAKS:
        return site
    return after or bench or site


def point_name(point: str | None) -> str:
    """Return one spelling of a point; the ends of a pair have no order, none is ""."""
    text = str(recorded({"point": point}, "point") or "")
    return "-".join(sorted(part.strip().casefold() for part in text.split("-")))


@dataclass(slots=True)
class _Condition:
    """What the readings in one condition say so far.

    `for_all` is the last outcome given without a point, `unnamed` the last value
    given without one; both are superseded once every point has been read by name.
    """

    named: dict[str, str] = field(default_factory=dict)
    for_all: str | None = None
    unnamed: str | None = None
    since: set[str] = field(default_factory=set)

    def add(self, reading: JudgedReading, needed: tuple[str, ...]) -> None:
        point = point_name(reading.point)
        if point:
            self.named[point] = reading.outcome
            self.since.add(point)
            if not _not_in(needed, self.since):
                self.for_all = self.unnamed = None
        elif reading.has_value:
            self.unnamed, self.since = reading.outcome, set()
            if not needed:
                self.for_all = None
        else:
            self.named = dict.fromkeys(self.named, reading.outcome)
            self.for_all, self.unnamed, self.since = reading.outcome, None, set()

    def outcomes(self) -> list[str]:
        loose = (self.for_all, self.unnamed)
        return [*self.named.values(), *(found for found in loose if found)]


def _state(own: list[JudgedReading], needed: tuple[str, ...]) -> CheckState:
    """Let the last reading of each point and condition speak."""
    conditions: dict[str, _Condition] = {}
    for reading in own:
        state = conditions.setdefault(reading.condition or "", _Condition())
        state.add(reading, needed)
    found = list(conditions.values())
    missing: tuple[str, ...] = ()
    if not any(state.for_all for state in found):
        missing = _not_in(needed, {point for state in found for point in state.named})
        if missing and any(state.unnamed for state in found):
            missing = missing[1:]
    outcomes = {outcome for state in found for outcome in state.outcomes()}
    for bad in ("fail", "not_done", "undefined"):
        if bad in outcomes:
            return CheckState(bad, missing)
    if outcomes != {"pass"}:
        return CheckState("not_done", missing)
    return CheckState(INCOMPLETE if missing else "pass", missing)


def _not_in(needed: tuple[str, ...], found: set[str]) -> tuple[str, ...]:
    return tuple(
        point
        for point in needed
        if not any(point_name(name) in found for name in point.split(" or "))
    )
