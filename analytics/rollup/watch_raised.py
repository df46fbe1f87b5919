"""From the statistics of the watch to alarms: their cases, months and explanations."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.rollup.watch_explained import Excess, Row, comparison, excess, lots
from analytics.rollup.watch_history import Pair, look_back, pairs_of
from analytics.rollup.watch_input import MONTHS, WatchInput
from analytics.rollup.watch_partitions import Partition, modes_of
from analytics.statistics.alarm_groups import join_alarms
from analytics.statistics.watch_evidence import Watched, watch
from analytics.statistics.watch_families import FamiliesCalibration, FamilyCounts
from analytics.statistics.watch_figures import (
    RatioAfter,
    expected_by_look,
    ratio_after,
)
from ingest.alarms import AlarmKey, Recorded

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Raised:
    """The alarms of all families, as rows of the snapshot's tables."""

    keys: tuple[AlarmKey, ...]
    alarms: Sequence[Row]
    series: Sequence[Row]
    cases: Sequence[Row]
    comparison: Sequence[Row]
    lots: Sequence[Row]


@dataclass(frozen=True, slots=True, eq=False)
class _Family:
    """One family, watched."""

    part: Partition
    counts: FamilyCounts
    watched: Watched
    expected: Floats  # (alarms, T): at the group's level before the excess
    after: Sequence[RatioAfter]
    threshold: Floats
    calibration: FamiliesCalibration


@dataclass(frozen=True, slots=True, eq=False)
class _Alarm:
    """One entry of a family's alarms."""

    family: _Family
    place: int
    stratum: int
    look: int
    key: AlarmKey
    failures: Integers  # numbers of the failures in its window
    after: Integers  # and of those since


def raised_alarms(
    found: WatchInput,
    parts: Sequence[Partition],
    calibration: FamiliesCalibration,
    recorded: Recorded,
    *,
    first_live: int,
) -> Raised:
    """Watch every family and describe what is raised, alarms of one cause together.

    Parameters
    ----------
    found : WatchInput
    parts : sequence of Partition
    calibration : FamiliesCalibration
    recorded : Recorded
        Alarms raised before stand; months before `recorded.through` raise no others.
    first_live : int
        First look in which an alarm can be raised.

    Returns
    -------
    Raised
    """
    last = found.fleet.n_looks - 1
    if recorded.through is None:
        known = look_back(found, parts, calibration, first_live=first_live)
        live_from = last
    else:
        known = {part.cut.name: _recorded(found, part, recorded) for part in parts}
        live_from = min(max(found.look(recorded.through), 0), last)
    alarms: list[_Alarm] = []
    for part in parts:
        family = _watched(
            part,
            calibration,
            known[part.cut.name],
            first_live=first_live,
            live_from=live_from,
        )
        alarms += _alarms(found, family)
    alarms.sort(
        key=lambda alarm: (alarm.look, -alarm.family.watched.evidence[alarm.place])
    )
    founder = join_alarms(
        [alarm.look for alarm in alarms],
        [alarm.family.watched.evidence[alarm.place] for alarm in alarms],
        [set(alarm.failures.tolist()) for alarm in alarms],
    )
    return Raised(
        keys=tuple(alarm.key for alarm in alarms),
        alarms=[
            _row(found, alarm, alarms[int(first)].key)
            for alarm, first in zip(alarms, founder, strict=True)
        ],
        series=[row for alarm in alarms for row in _series(found, alarm)],
        cases=[row for alarm in alarms for row in _cases(found, alarm)],
        comparison=[row for alarm in alarms for row in _comparison(found, alarm)],
        lots=[row for alarm in alarms for row in _lots(found, alarm)],
    )


def _watched(
    part: Partition,
    calibration: FamiliesCalibration,
    known: Sequence[tuple[int, Pair]],
    *,
    first_live: int,
    live_from: int,
) -> _Family:
    name = part.cut.name
    counts, fit = calibration.counts[name], calibration.fits[name]
    threshold = calibration.thresholds[name]
    strata = {pair: stratum for stratum, pair in enumerate(pairs_of(counts))}
    watched = watch(
        counts.observed,
        counts.expected,
        fit,
        threshold,
        first_live=first_live,
        live_from=live_from,
        # Groups that no record names any more cannot be watched on.
        known=[(look, strata[pair]) for look, pair in known if pair in strata],
        keep_evidence=True,
    )
    observed, expected = counts.observed, counts.expected
    stratum, since = watched.stratum, watched.since
    return _Family(
        part=part,
        counts=counts,
        watched=watched,
        expected=expected_by_look(observed, expected, fit, stratum=stratum, since=since)
        if len(stratum)
        else np.empty((0, len(threshold))),
        after=ratio_after(
            observed, expected, fit, stratum=stratum, look=watched.look, since=since
        ),
        threshold=threshold,
        calibration=calibration,
    )


def _recorded(
    found: WatchInput, part: Partition, recorded: Recorded
) -> list[tuple[int, Pair]]:
    failures = {code: number for number, code in enumerate(part.failures)}
    values = {value: number for number, value in enumerate(part.values)}
    return [
        (found.look(key.look), (failures[key.failure], values[key.value]))
        for key in (alarm.key for alarm in recorded.alarms)
        if key.family == part.cut.name
        and key.failure in failures
        and key.value in values
        and 0 <= found.look(key.look) < found.fleet.n_looks
    ]


def _alarms(found: WatchInput, family: _Family) -> Iterator[_Alarm]:
    watched, counts, part = family.watched, family.counts, family.part
    last: dict[int, int] = {}
    for place, (look, stratum) in enumerate(
        zip(watched.look.tolist(), watched.stratum.tolist(), strict=True)
    ):
        ours = counts.stratum_of_failure == stratum
        looks = found.fleet.failure_look
        begins = max(look - int(watched.window[place]), last.get(stratum, -1))
        last[stratum] = look
        yield _Alarm(
            family=family,
            place=place,
            stratum=stratum,
            look=look,
            key=AlarmKey.of(
                part.cut.name,
                part.failures[int(counts.stratum_failure[stratum])],
                part.values[int(counts.stratum_value[stratum])],
                found.month(look),
            ),
            failures=np.flatnonzero(ours & (looks > begins) & (looks <= look)),
            after=np.flatnonzero(ours & (looks > look)),
        )


def _row(found: WatchInput, alarm: _Alarm, founder: AlarmKey) -> Row:
    watched, key, place = alarm.family.watched, alarm.key, alarm.place
    evidence = float(watched.evidence[place])
    after = alarm.family.after[place]
    numbers = {
        name: float(getattr(watched, name)[place])
        for name in ("expected", "evidence", "ratio", "low", "high")
    }
    return {
        "alarm": key.alarm,
        "founder": founder.alarm,
        "family": key.family,
        "failure": key.failure,
        "value": key.value,
        "look": key.look,
        "since": found.month(int(watched.since[place])),
        "window_months": int(watched.window[place]),
        "observed": int(watched.observed[place]),
        **numbers,
        "threshold": float(alarm.family.threshold[alarm.look]),
        "times_per_year": alarm.family.calibration.times_per_year(
            key.family, alarm.look, evidence
        ),
        "n_after": after.observed,
        "expected_after": after.expected,
        "ratio_after": after.ratio,
        "low_after": after.low,
        "high_after": after.high,
        "is_known": bool(watched.is_known[place]),
    }


def _series(found: WatchInput, alarm: _Alarm) -> Iterator[Row]:
    family = alarm.family
    evidence = family.watched.best_evidence
    for look in range(found.fleet.n_looks):
        seen = np.nan if evidence is None else evidence[look, alarm.stratum]
        limit = family.threshold[look]
        yield {
            "alarm": alarm.key.alarm,
            "month": found.month(look),
            "observed": int(family.counts.observed[look, alarm.stratum]),
            "expected": float(family.expected[alarm.place, look]),
            "evidence": float(seen) if np.isfinite(seen) else None,
            "threshold": float(limit) if np.isfinite(limit) else None,
            "completeness": float(found.completeness[look]),
        }


def _cases(found: WatchInput, alarm: _Alarm) -> Iterator[Row]:
    case_ids = found.failures["case_id"].to_numpy()
    for numbers, is_after in ((alarm.failures, False), (alarm.after, True)):
        for case_id in case_ids[numbers]:
            yield {
                "alarm": alarm.key.alarm,
                "case_id": case_id,
                "is_after": is_after,
            }


def _comparison(found: WatchInput, alarm: _Alarm) -> Iterator[Row]:
    cut = alarm.family.part.cut
    own = (
        (cut.dimensions[0], cut.values(alarm.key.value)[0]) if cut.dimensions else None
    )
    for row in comparison(found, _excess(found, alarm), own):
        yield {"alarm": alarm.key.alarm, **row}


def _lots(found: WatchInput, alarm: _Alarm) -> Iterator[Row]:
    # Under an alarm of a model always its lots: a bad lot shows there first.
    if alarm.key.family == "model":
        for row in lots(found, _excess(found, alarm), alarm.key.value):
            yield {"alarm": alarm.key.alarm, **row}


def _excess(found: WatchInput, alarm: _Alarm) -> Excess:
    modes = modes_of(alarm.key.failure, alarm.family.part.cut.failure_kind)
    since = int(alarm.family.watched.since[alarm.place])
    last = min(alarm.look + MONTHS, found.fleet.n_looks - 1)
    return excess(found, modes, since, last)
