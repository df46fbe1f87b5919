"""One alarm in a small store, and the calls that tests of alarms share."""

import datetime as dt
from pathlib import Path

from ingest.alarms import AlarmKey, AlarmNote, note_alarm, record_alarms
from tests.small_files import ingested

MARCH, APRIL, MAY = (dt.date(2025, month, 1) for month in (3, 4, 5))
SUPPLIER = AlarmKey.of("mode_supplier", "handle_pilot_open", "Ostrel", MARCH)
COMPONENT = AlarmKey.of("component", "handle", None, APRIL)
NOON = dt.datetime(2025, 5, 2, 12, 0)  # noqa: DTZ001 - the store keeps UTC without a zone


def store_with_one_alarm(folder: Path) -> Path:
    """Return a store with two units, a case and one alarm."""
    ingested(folder, "serial,model\nUX-777,A\nUX-778,A\n")
    repairs = "case_id,serial,received_on,technician\nR1,UX-777,2025-03-04,Wanda\n"
    ingested(folder, repairs, name="repairs.csv")
    path = folder / "store.duckdb"
    assert record(path, [SUPPLIER]) == 1
    return path


def record(
    path: Path,
    alarms: list[AlarmKey],
    *,
    snapshot: str = "2025-03-31-aaaaaaaa",
    through: dt.date = MARCH,
    at: dt.datetime = NOON,
    first_live: dt.date | None = None,
) -> int:
    return record_alarms(
        path,
        snapshot=snapshot,
        published_at=at,
        through=through,
        alarms=alarms,
        first_live=first_live,
    )


def note(
    path: Path,
    state: str = "acknowledged",
    text: str | None = "asked the supplier",
    *,
    alarm: str = SUPPLIER.alarm,
    mask: bool = True,
) -> AlarmNote:
    return note_alarm(path, alarm, state=state, text=text, noted_at=NOON, mask=mask)
