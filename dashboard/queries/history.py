"""One return, one unit: everything the store holds about it."""

import datetime as dt
from collections.abc import Sequence

from analytics.rollup.snapshot import current_snapshot
from dashboard.filters import Filters
from dashboard.queries.answer import Answer, Row, plain, rows_of
from dashboard.settings import Place
from ingest import store
from ingest.charger_events import charger_events
from ingest.errors import NotPublishedError
from ingest.history import Version, case_history, unit_history
from ingest.quarantine import RejectedRow

METHOD = (
    "As the store holds it now; versions oldest first, the last one stands. Readings "
    "are judged as in the figures published last."
)
MONTHS = 12
NAMED_BY = ("check", "stage", "point", "condition", "taken_at", "sequence")
VERDICT = (
    *("judged", "low", "high", "unit_of_limit", "source", "assumed", "out_side"),
)


def case(place: Place, case_id: str) -> Answer:
    """Return one case with its versions, readings, events and rows set aside.

    Parameters
    ----------
    place : Place
    case_id : str

    Returns
    -------
    Answer
        Rows: the case as it stands, one row. More: title, versions, readings (with
        judged and its limits; None where no published figures hold the reading),
        charger_events (what the charger sent by itself around the failure), set_aside.

    Raises
    ------
    NotFoundError
        No such case.
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be read.
    """
    found = case_history(place.store, case_id, wait_s=place.wait_s)
    models = place.settings().models
    events = charger_events(
        place.store,
        found.case_id,
        lag_days_of_model={name: models[name].reporting_lag_days for name in models},
        wait_s=place.wait_s,
    )
    return Answer(
        about=None,
        filters=Filters(),
        method=METHOD,
        rows=[_values(found.versions[-1].values)],
        more={
            "title": f"Case {found.case_id}",
            "versions": _versions(found.versions),
            "readings": _judged(
                place,
                found.case_id,
                [_values(reading) for reading in found.readings],
            ),
            "charger_events": [_values(event) for event in events],
            "set_aside": _set_aside(found.problems),
        },
        invented=store.origin(place.store, wait_s=place.wait_s) == "invented",
    )


def unit(place: Place, serial: str) -> Answer:
    """Return one unit with its versions, cases and the state of its warranty.

    Parameters
    ----------
    place : Place
    serial : str
        In any case of letters.

    Returns
    -------
    Answer
        Rows: the unit as it stands with `warranty_until` and, in `warranty_basis`,
        what that rests on; no row while only its cases are known. More: title,
        versions, cases, set_aside.

    Raises
    ------
    NotFoundError
        Neither the unit nor a case of it is known.
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be read.
    """
    found = unit_history(place.store, serial, wait_s=place.wait_s)
    rows = []
    if found.versions:
        values = found.versions[-1].values
        rows = [_values(values) | _warranty(values, place)]
    return Answer(
        about=None,
        filters=Filters(),
        method=METHOD,
        rows=rows,
        more={
            "title": f"Unit {found.serial}",
            "versions": _versions(found.versions),
            "cases": [_values(row) for row in found.cases],
            "set_aside": _set_aside(found.problems),
        },
        invented=store.origin(place.store, wait_s=place.wait_s) == "invented",
    )


def _values(values: Row) -> Row:
    return {name: plain(value) for name, value in values.items()}


def _judged(place: Place, case_id: str, readings: Sequence[Row]) -> list[Row]:
    try:
        snapshot = current_snapshot(place.published)
        found = rows_of(snapshot.ask("readings_of_case", {"case_id": case_id}))
    except NotPublishedError:
        found = []
    verdicts = {_name(row): {name: row[name] for name in VERDICT} for row in found}
    nothing: Row = dict.fromkeys(VERDICT)
    return [row | verdicts.get(_name(row), nothing) for row in readings]


def _name(reading: Row) -> tuple[object, ...]:
    return tuple(reading[name] for name in NAMED_BY)


def _versions(versions: Sequence[Version]) -> list[Row]:
    return [
        {
            "batch": version.batch,
            "file": version.file,
            "row_no": version.row_no,
            "taken_in_at": plain(version.taken_in_at),
            "changed": ", ".join(version.changed) or None,
            "unknown_columns": "; ".join(
                f"{name}: {cell}" for name, cell in version.unknown.items()
            )
            or None,
            **_values(version.values),
        }
        for version in versions
    ]


def _set_aside(rows: Sequence[RejectedRow]) -> list[Row]:
    return [
        {
            "file": row.path,
            "row_no": row.row_no,
            "problems": row.codes,
        }
        for row in rows
    ]


def _warranty(values: Row, place: Place) -> Row:
    model = place.settings().models.get(str(values["model"]))
    months = values["warranty_months"]
    basis = "of the unit"
    if months is None and model:
        months, basis = model.warranty_months, "of the model"
    start, extended = values["in_service_on"], values["warranty_extended_to"]
    until = None
    if isinstance(months, int) and isinstance(start, dt.date):
        until = _months_later(start, months)
    if isinstance(extended, dt.date) and (until is None or extended > until):
        until, basis = extended, "extended"
    if until is None:
        return {"warranty_until": None, "warranty_basis": "not known"}
    return {"warranty_until": until.isoformat(), "warranty_basis": basis}


def _months_later(day: dt.date, months: int) -> dt.date:
    # The same day of a later month; the last day of a month that has no such day.
    year, month = divmod(day.year * MONTHS + day.month - 1 + months, MONTHS)
    first_of_next = dt.date(year + (month + 1) // MONTHS, (month + 1) % MONTHS + 1, 1)
    last = (first_of_next - dt.timedelta(days=1)).day
    return dt.date(year, month + 1, min(day.day, last))
