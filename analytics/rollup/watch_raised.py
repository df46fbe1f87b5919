"""From the statistics of the watch to alarms: their cases, months and explanations."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from analytics.rollup.watch_alarm import (
    RaisedAlarm,
    WatchedFamily,
    with_causes_that_go_on,
)
from analytics.rollup.watch_alarm_rows import (
    cases_of,
    comparison_of,
    lots_of,
    row_of,
    series_of,
)
from analytics.rollup.watch_explained import Row
from analytics.rollup.watch_history import Pair, look_back, pairs_of
from analytics.rollup.watch_input import WatchInput
from analytics.rollup.watch_partitions import Partition
from analytics.statistics.alarm_groups import join_alarms
from analytics.statistics.watch_evidence import watch
from analytics.statistics.watch_families import FamiliesCalibration
from analytics.statistics.watch_figures import (
    expected_by_look,
    ratio_after,
)
from ingest.alarms import AlarmKey, Recorded


@dataclass(frozen=True, slots=True)
class Raised:
    """The alarms of all families, as rows of the snapshot's tables."""

    keys: tuple[AlarmKey, ...]
    alarms: Sequence[Row]
    series: Sequence[Row]
    cases: Sequence[Row]
    comparison: Sequence[Row]
    lots: Sequence[Row]


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
        # A month is judged at every publish in it, while it fills, and then no more:
        # judging it again when it is full would raise a third more false alarms.
        live_from = min(max(found.look(recorded.through) + 1, 0), last)
    alarms: list[RaisedAlarm] = []
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
    founder = with_causes_that_go_on(found, alarms, founder)
    return Raised(
        keys=tuple(alarm.key for alarm in alarms),
        alarms=[
            row_of(found, alarm, alarms[int(first)].key)
            for alarm, first in zip(alarms, founder, strict=True)
        ],
        series=[row for alarm in alarms for row in series_of(found, alarm)],
        cases=[row for alarm in alarms for row in cases_of(found, alarm)],
        comparison=[row for alarm in alarms for row in comparison_of(found, alarm)],
        lots=[row for alarm in alarms for row in lots_of(found, alarm)],
    )


def _watched(
    part: Partition,
    calibration: FamiliesCalibration,
    known: Sequence[tuple[int, Pair]],
    *,
    first_live: int,
    live_from: int,
) -> WatchedFamily:
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
    return WatchedFamily(
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


def _alarms(found: WatchInput, family: WatchedFamily) -> Iterator[RaisedAlarm]:
    watched, counts, part = family.watched, family.counts, family.part
    last: dict[int, int] = {}
    for place, (look, stratum) in enumerate(
        zip(watched.look.tolist(), watched.stratum.tolist(), strict=True)
    ):
        ours = counts.stratum_of_failure == stratum
        looks = found.fleet.failure_look
        begins = max(look - int(watched.window[place]), last.get(stratum, -1))
        last[stratum] = look
        yield RaisedAlarm(
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
