"""Cases that may hurt someone: confirmed, or pointed to by a reading that failed.

No statistics: one such case needs action. A reading counts as long as none of its
check, point and condition has taken it back, as at the bench (`advice.gate`), and as
long as no confirmed mode explains it: a failed look at the unit that was confirmed as
water inside points to nothing else.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import cast

from analytics.advice.gate import JudgedReading, check_outcomes
from analytics.advice.limits import Limit
from analytics.rollup.snapshot import Snapshot
from dashboard.filters import Filters
from dashboard.queries.answer import Row, rows_of
from ingest import catalogue

TRIP_CHECKS = (
    "ground_fault_trip_current",
    "ground_fault_trip_time",
    "dc_trip_current",
    "dc_trip_time",
)
CONFIRMED = "confirmed"
MAY_BE = "may be: "
KEEP_AWAY = (
    "Keep the unit isolated, marked and out of use. A qualified person proves it dead "
    "before anything is touched; local rules come first."
)
SETTLE = "Confirm on the bench which failure it is."
PROVE = "After the repair every gate check again, before it goes back into use."
SCRAPPED = "Closed, scrapped: see that the unit cannot go back into use."
LOOK_BACK = (
    "Closed: see in the case whether every gate check passed after the repair, before "
    "the unit went back into use."
)


@cache
def critical_modes() -> tuple[str, ...]:
    """Return the codes of the critical failure modes."""
    modes = catalogue.failure_modes().values()
    return tuple(mode.code for mode in modes if mode.severity == "critical")


@cache
def pointing_checks() -> Mapping[str, tuple[str, ...]]:
    """Return the critical modes that a failed gate or trip check would confirm."""
    critical = critical_modes()
    known = catalogue.checks()
    found: dict[str, tuple[str, ...]] = {}
    for pair in catalogue.check_modes():
        counts = known[pair.check].gate or pair.check in TRIP_CHECKS
        if counts and pair.confirms and pair.mode in critical:
            found[pair.check] = (*found.get(pair.check, ()), pair.mode)
    return found


@cache
def _explains() -> frozenset[tuple[str, str]]:
    return frozenset(
        (pair.mode, pair.check) for pair in catalogue.check_modes() if pair.confirms
    )


@cache
def _sides() -> Mapping[str, str]:
    # A trip below its window is a nuisance; above it, nothing protects.
    return {
        rule.check: rule.side
        for rule in catalogue.label_rules()
        if rule.role == "backs" and rule.side and rule.mode in critical_modes()
    }


@dataclass(frozen=True, slots=True)
class FailedCheck:
    """A check that stands as failed, with the last reading of it that failed."""

    check: str
    reading: Row

    @property
    def since(self) -> str:
        """The day of that reading."""
        return str(self.reading["taken_at"])[:10]

    def words(self) -> str:
        """Return which check failed, with value and limit."""
        reading = self.reading
        at = f" at {reading['point']}" if reading["point"] else ""
        label = catalogue.checks()[self.check].label
        shown = (
            f"{reading['value']} {reading['unit'] or ''}".strip()
            if reading["value"] is not None
            else "recorded as fail"
        )
        return f"reading of {label} failed{at}: {shown}; expected {self.limit()}"

    def limit(self) -> str:
        """Return what was expected, in words."""
        low, high = (cast("float | None", self.reading[s]) for s in ("low", "high"))
        if low is None and high is None:
            return catalogue.checks()[self.check].expected.removeprefix("pass: ")
        return Limit(str(self.reading["unit_of_limit"]), "", low, high).text()


def critical_cases(snapshot: Snapshot, filters: Filters) -> list[Row]:
    """Return every critical case under the filters, the latest to become so first.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters

    Returns
    -------
    list of dict
        case_id, serial, model, site, region, received_on, mode (None while a reading
        points to several), label, why, since, is_open, check, point, value, unit, low,
        high, limit, source, points_to, says, to_do, confirmed_mode, production_lot,
        closed_on, disposition. Of several checks that failed the first in working order
        is named.
    """
    asked = filters.parameters() | {
        "critical_modes": list(critical_modes()),
        "critical_checks": list(pointing_checks()),
        "explained": [f"{mode} {check}" for mode, check in sorted(_explains())],
    }
    cases = rows_of(snapshot.ask("critical_cases", asked, chosen="chosen_cases"))
    readings = rows_of(snapshot.ask("critical_readings", asked, chosen="chosen_cases"))
    of_case: dict[object, list[Row]] = {}
    for reading in readings:
        of_case.setdefault(reading["case_id"], []).append(reading)
    found = []
    for case in cases:
        if case["mode"] in critical_modes():
            found.append(_confirmed(case))
            continue
        failed = failed_checks(
            of_case.get(case["case_id"], []),
            mode=case["mode"],
            connector=case["connector"],
        )
        if failed:
            found.append(_by_reading(case, failed))
    return sorted(found, key=lambda row: str(row["since"]), reverse=True)


def failed_checks(
    readings: Sequence[Row], *, mode: object, connector: object = None
) -> list[FailedCheck]:
    """Return the gate and trip checks that stand as failed and point to critical modes.

    Parameters
    ----------
    readings : sequence of dict
        Of one case, judged, in the order taken; of any checks.
    mode : str or None
        The confirmed mode, which may explain them.
    connector : str or None
        Of the unit: which points a check needs.
    """
    own = [reading for reading in readings if reading["check"] in pointing_checks()]
    judged = [_judged(reading, place) for place, reading in enumerate(own)]
    outcomes = check_outcomes(judged, {"connector": connector})
    found = []
    for check in pointing_checks():
        if outcomes.get(check) != "fail" or (mode, check) in _explains():
            continue
        failed = [
            reading
            for reading, as_judged in zip(own, judged, strict=True)
            if as_judged.check == check and as_judged.outcome == "fail"
        ]
        found.append(FailedCheck(check, failed[-1]))
    return found


def _judged(reading: Row, place: int) -> JudgedReading:
    check = str(reading["check"])
    other_side = reading["out_side"] not in (None, _sides().get(check))
    is_other = check in _sides() and other_side
    return JudgedReading(
        check=check,
        # Not judged yet says nothing either way.
        outcome="pass" if is_other else str(reading["judged"] or "not_done"),
        stage=str(reading["stage"]),
        point=cast("str | None", reading["point"]),
        condition=cast("str | None", reading["condition"]),
        order=float(place),
        has_value=reading["value"] is not None,
    )


def _confirmed(case: Row) -> Row:
    mode = catalogue.failure_modes()[str(case["mode"])]
    return _row(
        case,
        mode=mode.code,
        label=mode.label,
        why=CONFIRMED,
        since=case["mode_known_on"],
        points_to=(mode.code,),
    )


def _by_reading(case: Row, failed: Sequence[FailedCheck]) -> Row:
    codes = tuple(
        dict.fromkeys(code for one in failed for code in pointing_checks()[one.check])
    )
    known = catalogue.failure_modes()
    labels = "; ".join(known[code].label for code in codes)
    why = "; ".join(one.words() for one in failed)
    return _row(
        case,
        mode=codes[0] if len(codes) == 1 else None,
        label=f"{MAY_BE if len(codes) > 1 else ''}{labels}",
        why=why,
        since=min(one.since for one in failed),
        points_to=codes,
        failed=failed[0],
    )


def _row(
    case: Row,
    *,
    mode: str | None,
    label: str,
    why: str,
    since: object,
    points_to: Iterable[str],
    failed: FailedCheck | None = None,
) -> Row:
    known = catalogue.failure_modes()
    codes = list(points_to)
    reading = failed.reading if failed else {}
    is_open = case["closed_on"] is None
    return {
        **{name: case[name] for name in ("case_id", "serial", "model")},
        **{name: case[name] for name in ("site", "region", "received_on")},
        "mode": mode,
        "label": label,
        "why": why,
        "since": since,
        "is_open": is_open,
        "is_new": None,
        "check": failed.check if failed else None,
        **{name: reading.get(name) for name in ("point", "value", "unit")},
        **{name: reading.get(name) for name in ("low", "high", "source")},
        "limit": failed.limit() if failed else None,
        "points_to": "; ".join(codes),
        "says": " / ".join(known[code].definition for code in codes),
        "to_do": _to_do(case, is_confirmed=why == CONFIRMED),
        "confirmed_mode": case["mode"],
        **{name: case[name] for name in ("production_lot", "closed_on")},
        "disposition": case["disposition"],
    }


def _to_do(case: Row, *, is_confirmed: bool) -> str:
    if case["closed_on"] is not None:
        return SCRAPPED if case["disposition"] == "scrapped" else LOOK_BACK
    return " ".join((KEEP_AWAY, *(() if is_confirmed else (SETTLE,)), PROVE))
