"""Looking back when a fleet is watched for the first time: what would have been raised.

Years of records may be taken in before the first publish. Judged in one go, an excess
would be compared with rates that it has raised itself. So the months before are gone
through in order, each step with what was on record by then, and its alarms stand for
the steps that follow, as recorded ones do.
"""

from collections.abc import Sequence
from dataclasses import replace

from analytics.rollup.watch_input import WatchInput
from analytics.rollup.watch_partitions import Partition
from analytics.statistics.quiet_fleet import fit_quiet_fleet
from analytics.statistics.watch_evidence import watch
from analytics.statistics.watch_families import (
    FamiliesCalibration,
    FamilyCounts,
    WatchedFleet,
)
from analytics.statistics.watched_fleet import counts_of, family_table

STEP = 3  # months at a time

Pair = tuple[int, int]  # numbers of the failure and of the value


def look_back(
    found: WatchInput,
    parts: Sequence[Partition],
    calibration: FamiliesCalibration,
    *,
    first_live: int,
) -> dict[str, list[tuple[int, Pair]]]:
    """Return the alarms of the months before the last, step by step.

    Parameters
    ----------
    found : WatchInput
    parts : sequence of Partition
    calibration : FamiliesCalibration
        Of the whole history: its thresholds are used at every step.
    first_live : int
        First look in which an alarm can be raised.

    Returns
    -------
    dict of family name to list of (look, (failure, value))
    """
    raised: dict[str, list[tuple[int, Pair]]] = {part.cut.name: [] for part in parts}
    for start in range(first_live, found.fleet.n_looks - 1, STEP):
        stop = min(start + STEP, found.fleet.n_looks - 1)
        fleet = _until(found.fleet, stop)
        for part in parts:
            name = part.cut.name
            counts = counts_of(fleet, family_table(fleet, part.family))
            if not counts.expected.shape[1] or not counts.observed.sum():
                continue
            pairs = pairs_of(counts)
            places = {pair: place for place, pair in enumerate(pairs)}
            watched = watch(
                counts.observed,
                counts.expected,
                fit_quiet_fleet(counts.observed, counts.expected),
                calibration.thresholds[name][:stop],
                first_live=first_live,
                live_from=start,
                known=[
                    (look, places[pair])
                    for look, pair in raised[name]
                    if pair in places
                ],
            )
            raised[name] += [
                (int(look), pairs[int(stratum)])
                for look, stratum in zip(watched.look, watched.stratum, strict=True)
                if look >= start
            ]
    return raised


def pairs_of(counts: FamilyCounts) -> list[Pair]:
    """Return the failure and value of each stratum, as numbers."""
    return list(
        zip(counts.stratum_failure.tolist(), counts.stratum_value.tolist(), strict=True)
    )


def _until(fleet: WatchedFleet, stop: int) -> WatchedFleet:
    """Return the fleet as it was before a look."""
    was, had = fleet.look < stop, fleet.failure_look < stop
    return replace(
        fleet,
        n_looks=stop,
        kind=fleet.kind[was],
        look=fleet.look[was],
        age=fleet.age[was],
        exposure=fleet.exposure[was],
        failure_kind=fleet.failure_kind[had],
        failure_look=fleet.failure_look[had],
        failure_age=fleet.failure_age[had],
        failure_mode=fleet.failure_mode[had],
    )
