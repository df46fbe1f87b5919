"""An alarm as rows of the snapshot's tables."""

from collections.abc import Iterator

import numpy as np

from analytics.rollup.watch_alarm import RaisedAlarm
from analytics.rollup.watch_explained import Excess, Row, comparison, excess, lots
from analytics.rollup.watch_input import FIELDS, MONTHS, WatchInput
from analytics.rollup.watch_partitions import modes_of
from ingest.alarms import AlarmKey
from ingest.catalogue import failure_modes

OF_CABLE = ("handle", "cable")


def row_of(found: WatchInput, alarm: RaisedAlarm, founder: AlarmKey) -> Row:
    """Return the row of `watch_alarms`."""
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


def series_of(found: WatchInput, alarm: RaisedAlarm) -> Iterator[Row]:
    """Return the rows of `watch_series`: the group of the alarm, month by month."""
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


def cases_of(found: WatchInput, alarm: RaisedAlarm) -> Iterator[Row]:
    """Return the rows of `watch_cases`: those behind the alarm, and those since."""
    case_ids = found.failures["case_id"].to_numpy()
    for numbers, is_after in ((alarm.failures, False), (alarm.after, True)):
        for case_id in case_ids[numbers]:
            yield {
                "alarm": alarm.key.alarm,
                "case_id": case_id,
                "is_after": is_after,
            }


def comparison_of(found: WatchInput, alarm: RaisedAlarm) -> Iterator[Row]:
    """Return the rows of `watch_comparison`: what the excess goes with."""
    cut = alarm.family.part.cut
    own = (
        (cut.dimensions[0], cut.values(alarm.key.value)[0]) if cut.dimensions else None
    )
    modes = modes_of(alarm.key.failure, cut.failure_kind)
    # Who made the cable bears on failures of handle and cable alone.
    is_of_cable = any(failure_modes()[mode].component in OF_CABLE for mode in modes)
    fields = [
        field
        for field in FIELDS
        if field != "cable_supplier" or is_of_cable or (own and own[0] == field)
    ]
    for row in comparison(found, _excess(found, alarm), own, fields):
        yield {"alarm": alarm.key.alarm, **row}


def lots_of(found: WatchInput, alarm: RaisedAlarm) -> Iterator[Row]:
    """Return the rows of `watch_lots`: under the alarm of a model always its lots."""
    # A bad lot shows in its model first.
    if alarm.key.family == "model":
        for row in lots(found, _excess(found, alarm), alarm.key.value):
            yield {"alarm": alarm.key.alarm, **row}


def _excess(found: WatchInput, alarm: RaisedAlarm) -> Excess:
    modes = modes_of(alarm.key.failure, alarm.family.part.cut.failure_kind)
    since = int(alarm.family.watched.since[alarm.place])
    last = min(alarm.look + MONTHS, found.fleet.n_looks - 1)
    return excess(found, modes, since, last)
