"""One alarm of the watch, and which alarms show the same cause."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.rollup.watch_input import WatchInput
from analytics.rollup.watch_partitions import Partition
from analytics.statistics.watch_evidence import Watched
from analytics.statistics.watch_families import FamiliesCalibration, FamilyCounts
from analytics.statistics.watch_figures import RatioAfter
from ingest.alarms import AlarmKey

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class WatchedFamily:
    """One family, watched."""

    part: Partition
    counts: FamilyCounts
    watched: Watched
    expected: Floats  # (alarms, T): at the group's level before the excess
    after: Sequence[RatioAfter]
    threshold: Floats
    calibration: FamiliesCalibration


@dataclass(frozen=True, slots=True, eq=False)
class RaisedAlarm:
    """One entry of a family's alarms."""

    family: WatchedFamily
    place: int
    stratum: int
    look: int
    key: AlarmKey
    failures: Integers  # numbers of the failures in its window
    after: Integers  # and of those since


def with_causes_that_go_on(
    found: WatchInput, alarms: Sequence[RaisedAlarm], founder: Integers
) -> Integers:
    """Return founders once more, an excess that goes on counted as one cause.

    A supplier's failures go on after its alarm, and later raise its regions, models
    and lots. Such an alarm joins the earlier one if more than half of its cases are of
    that group by then; never one of a larger group, in which all cases lie anyhow.
    """
    looks = found.fleet.failure_look
    joined = founder.copy()
    for number, alarm in enumerate(alarms):
        if joined[number] != number:
            continue
        cases = set(alarm.failures.tolist())
        for earlier in np.unique(joined[:number]):
            cause = alarms[int(earlier)]
            until = cause.after[looks[cause.after] <= alarm.look]
            of_cause = {*cause.failures.tolist(), *until.tolist()}
            is_smaller = _expected_a_month(cause) <= _expected_a_month(alarm)
            if is_smaller and 2 * len(cases & of_cause) > len(cases):
                joined[joined == number] = earlier
                break
    return joined


def _expected_a_month(alarm: RaisedAlarm) -> float:
    return float(alarm.family.counts.expected[:, alarm.stratum].sum())
