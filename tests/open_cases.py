"""A few cases still open, beside confirmed ones: what is kept of them, and its fate."""

import datetime as dt

import duckdb

from analytics.rollup.publish import publish
from analytics.rollup.snapshot import current_snapshot
from ingest import store
from ingest.pipeline import ingest_paths
from tests import small_fleet
from tests.small_fleet import case, unit, write_rows

JUNE = dt.date(2025, 6, 30)
UNITS = [unit(f"A{n:03}") for n in range(30)]
CONFIRMED = [
    case(
        f"R{n:03}",
        f"A{n:03}",
        symptoms="stops_when_cable_moved",
        confirmed_mode="handle_pilot_open",
    )
    for n in range(20)
]
OPEN = [
    case("R100", "A020", symptoms="stops_when_cable_moved"),
    case("R101", "A021", symptoms="no_power_indication"),
    case("R102", "A022"),
]


def kept(folder):
    with store.open_for_reading(folder / "store.duckdb") as connection:
        found = connection.execute("SELECT * FROM suggestions ORDER BY case_id").df()
    return {row["case_id"]: row for row in found.to_dict("records")}


def fared(snapshot):
    file = snapshot.folder / f"{snapshot.about.snapshot}.duckdb"
    with duckdb.connect(str(file), read_only=True) as connection:
        rows = connection.execute("SELECT * FROM suggestion_fared").df()
    return {row["case_id"]: row for row in rows.to_dict("records")}


def again(folder, **options):
    publish(folder / "store.duckdb", folder / "published", **{"as_of": JUNE} | options)
    return current_snapshot(folder / "published")


def take_in(folder, *cases):
    file = write_rows(folder / f"more-{len(list(folder.iterdir()))}.csv", list(cases))
    report = ingest_paths(folder / "store.duckdb", [file])
    assert report.exit_code == 0, report
    return report.files[0].batch


def published(folder):
    """Publish 20 confirmed and 3 open cases, and return the folder."""
    small_fleet.published(folder, UNITS, [*CONFIRMED, *OPEN], as_of=JUNE)
    return folder
