"""Which units in the field share what an alarm names: whom to look after next."""

from collections.abc import Sequence
from typing import cast

from analytics.rollup.snapshot import current_snapshot
from analytics.rollup.watch_partitions import modes_of
from dashboard.filters import Filters
from dashboard.queries.answer import Answer, Row, rows_of
from dashboard.queries.watch import watch
from dashboard.queries.watch_parts import of_alarm
from dashboard.settings import Place

METHOD = (
    "Units in service by the day the figures speak for, not retired, scrapped or "
    "replaced, without a confirmed failure of the alarm's kind, that share its lot, "
    "supplier, model, revision or region, or a lot under it whose interval lies above "
    "1. A value that is not recorded is shared with nobody. An excess is associated "
    "with the group: that a unit is listed says nothing about the unit."
)


def alarm_units(place: Place, filters: Filters, *, alarm: str | None = None) -> Answer:
    """Return the units in the field that share what a standing alarm names.

    Parameters
    ----------
    place : Place
    filters : Filters
        Choose alarms as in the watch, and units of those groups; `from` and `to`
        choose alarms alone.
    alarm : str, optional
        The id of the only alarm asked about; a past one names no units.

    Returns
    -------
    Answer
        Rows: one for each alarm and unit, the most urgent alarm first: alarm, serial,
        model, lot, cable_supplier, hardware_revision, region, site, in_service_on,
        warranty_until, shared. More: n_units, n_sites (each counted once), and
        without_group: alarms that name no group of units.

    Raises
    ------
    NotPublishedError
        Nothing is published, or by another version.
    NotFoundError
        No alarm of that id.
    """
    answer = watch(place, filters)
    if alarm is not None:
        answer = of_alarm(answer, alarm)
    groups = _groups(answer)
    kinds = [
        (str(row["alarm"]), mode)
        for row in answer.rows
        for mode in modes_of(_failure(row), str(row["failure_kind"]))
    ]
    snapshot = current_snapshot(place.published)
    parameters = filters.parameters() | {
        "from": None,
        "to": None,
        "as_of": snapshot.about.as_of,
        "alarms": [alarm for alarm, *_ in groups],
        "dimensions": [dimension for _, dimension, *_ in groups],
        "values": [value for *_, value, _ in groups],
        "revisions": [revision for *_, revision in groups],
        "alarms_of_modes": [alarm for alarm, _ in kinds],
        "modes": [mode for _, mode in kinds],
    }
    rows = rows_of(snapshot.ask("alarm_units", parameters, chosen="chosen_units"))
    named = {alarm for alarm, *_ in groups}
    return Answer(
        about=snapshot.about,
        filters=filters,
        method=METHOD,
        rows=rows,
        more={
            "n_units": len({row["serial"] for row in rows}),
            "n_sites": len({row["site"] for row in rows if row["site"] is not None}),
            "without_group": [
                row["alarm"] for row in answer.rows if row["alarm"] not in named
            ],
        },
        invented=answer.invented,
        asked=answer.asked,
    )


def _failure(row: Row) -> str:
    return str(row["mode"] or row["group"])


def _groups(answer: Answer) -> list[tuple[str, str, str, str | None]]:
    lots = cast("Sequence[Row]", answer.more["lots"])
    found: list[tuple[str, str, str, str | None]] = []
    for row in answer.rows:
        alarm = str(row["alarm"])
        if row["dimension"] is not None and row["value"] is not None:
            revision = cast("str | None", row["hardware_revision"])
            group = (alarm, str(row["dimension"]), str(row["value"]), revision)
            found.append(group)
        found += [
            (alarm, "lot", str(lot["lot"]), None)
            for lot in lots
            if lot["alarm"] == alarm and _stands_out(lot)
        ]
    return list(dict.fromkeys(found))


def _stands_out(lot: Row) -> bool:
    low = cast("float | None", lot["low"])
    return lot["lot"] is not None and low is not None and low > 1
