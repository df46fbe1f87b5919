"""Taking a file back leaves the store as if that file had never come."""

import json
import shutil
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ingest import store
from ingest.pipeline import ingest_paths
from ingest.quarantine import rejected_rows
from ingest.upkeep.undo import undo
from tests.small_fleet import write_rows

# Few values, so that files repeat, replace and contradict each other and themselves.
UNITS = st.fixed_dictionaries(
    {
        "serial": st.sampled_from(["U-001", "U-002", "?"]),
        "model": st.sampled_from(["A", "B", ""]),
        "phases": st.sampled_from(["", "1", "2"]),
    }
)
READINGS = st.fixed_dictionaries(
    {
        "case_id": st.just("R1"),
        "check": st.just("pilot_continuity"),
        "stage": st.just("intake"),
        "taken_at": st.sampled_from(["2026-01-02", "soon"]),
        "point": st.sampled_from(["", "CP"]),
        "value": st.sampled_from(["0.4", "0.5", "OL"]),
        "unit": st.just("ohm"),
    }
)
USAGE = st.fixed_dictionaries(
    {
        "serial": st.just("U-001"),
        "month": st.sampled_from(["2026-01", "2026-02"]),
        "sessions": st.sampled_from(["1", "2", "-1"]),
    }
)
FILES = st.one_of(
    st.lists(UNITS, min_size=1, max_size=5),
    st.lists(READINGS, min_size=1, max_size=5),
    st.lists(USAGE, min_size=1, max_size=5),
    st.just("correct"),
)
VIEWS = ("units", "repairs", "readings", "usage")


def corrected(folder, n):
    """Return a file that corrects the units waiting, some of them wrongly."""
    waiting = [r for r in rejected_rows(folder / "store.duckdb") if r.kind == "units"]
    rows = [
        {
            "serial": f"C-{n}-{row.row_no}-{place}",
            "model": "C",
            "phases": str(row.row_no),  # right if it is 3
            "rejected_row": row.rejected_row,
        }
        for place, row in enumerate(waiting)
    ]
    return write_rows(folder / f"{n}.csv", rows) if rows else None


def written(folder, n, rows):
    # A column that no other file has: else a file taken in twice leaves no trace, and
    # is taken back with the first.
    return write_rows(folder / f"{n}.csv", [row | {f"x{n}": ""} for row in rows])


def taken_in(folder, files):
    """Take files in, one by one, and return them as written, by batch."""
    made = {}
    for n, rows in enumerate(files):
        if rows == "correct":
            file = corrected(folder, n) if made else None
        else:
            file = written(folder, n, rows)
        if file:
            (report,) = ingest_paths(folder / "store.duckdb", [file]).files
            assert report.error is None
            made[report.batch] = file
    return made


def content(store_file):
    with store.open_for_reading(store_file) as connection:
        records = {
            name: sorted(
                connection.execute(
                    f"SELECT * EXCLUDE (batch, row_no) FROM {name}"  # noqa: S608 - our own views
                ).fetchall(),
                key=str,
            )
            for name in VIEWS
        }
    waiting = sorted(
        json.dumps(
            [
                row.kind,
                {name: cell for name, cell in row.cells.items() if cell},
                [(problem.field, problem.code) for problem in row.problems],
            ],
            sort_keys=True,
        )
        for row in rejected_rows(store_file)
    )
    return records, waiting


def assert_balanced(store_file):
    with store.open_for_reading(store_file) as connection:
        batches = connection.execute(
            "SELECT batch, n_read, n_accepted, n_unchanged, n_replaced, n_rejected "
            "FROM batches WHERE undone_at IS NULL"
        ).fetchall()
        kept = dict(
            connection.execute(
                "SELECT batch, count(*) FROM (SELECT batch FROM unit_versions UNION "
                "ALL SELECT batch FROM reading_versions UNION ALL SELECT batch FROM "
                "usage_versions) GROUP BY batch"
            ).fetchall()
        )
        twice = connection.execute(
            "SELECT serial, batch FROM unit_versions GROUP BY ALL HAVING count(*) > 1"
        ).fetchall()
    for batch, n_read, n_accepted, n_unchanged, n_replaced, n_rejected in batches:
        assert n_read == n_accepted + n_unchanged + n_replaced + n_rejected
        assert kept.get(batch, 0) == n_accepted + n_replaced
    assert twice == []


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(FILES, min_size=1, max_size=5), st.data())
def test_after_undo_the_store_is_as_if_the_file_had_never_come(files, data):
    folder = Path(tempfile.mkdtemp())
    try:
        made = taken_in(folder, files)
        if not made:
            return
        gone = data.draw(
            st.lists(st.sampled_from(sorted(made)), min_size=1, max_size=2, unique=True)
        )
        for batch in gone:
            undo(folder / "store.duckdb", batch)

        without = folder / "without.duckdb"
        with store.open_for_writing(without):
            pass
        for batch, file in made.items():
            if batch not in gone:
                ingest_paths(without, [file])

        assert content(folder / "store.duckdb") == content(without)
        assert_balanced(folder / "store.duckdb")
    finally:
        shutil.rmtree(folder)
