"""Which figures were shown before: noted once, and opened only if they compare."""

import datetime as dt

import duckdb

from analytics.rollup.publish import publish
from analytics.rollup.published_files import withdraw
from analytics.rollup.snapshot import current_snapshot, previous_snapshot
from tests.small_fleet import AS_OF, case, published, unit

UNITS = [unit(f"U-{n:03}") for n in range(3)]
CASES = [case("R1", "U-001", confirmed_mode="contactor_welded")]
LATER = AS_OF + dt.timedelta(days=31)


def again(folder, *, as_of):
    publish(folder / "store.duckdb", folder / "published", as_of=as_of)
    return current_snapshot(folder / "published")


def test_the_first_figures_have_none_before_them(tmp_path):
    first = published(tmp_path, UNITS, CASES)

    assert first.about.previous is None
    assert previous_snapshot(first) is None


def test_the_next_figures_know_those_shown_until_then(tmp_path):
    first = published(tmp_path, UNITS, CASES)
    second = again(tmp_path, as_of=LATER)
    third = again(tmp_path, as_of=LATER + dt.timedelta(days=1))

    assert second.about.previous == first.about.snapshot
    assert previous_snapshot(third).about == second.about


def test_the_same_figures_again_keep_what_was_shown_before_them(tmp_path):
    first = published(tmp_path, UNITS, CASES)
    again(tmp_path, as_of=LATER)

    assert again(tmp_path, as_of=LATER).about.previous == first.about.snapshot
    assert again(tmp_path, as_of=AS_OF).about.previous is None


def test_figures_are_never_those_before_themselves(tmp_path):
    first = published(tmp_path, UNITS, CASES).about.snapshot
    (tmp_path / "published" / f"{first}.duckdb").unlink()

    assert again(tmp_path, as_of=AS_OF).about.snapshot == first
    assert current_snapshot(tmp_path / "published").about.previous is None


def test_the_figures_before_are_not_part_of_the_id(tmp_path):
    first = published(tmp_path, UNITS, CASES).about.snapshot
    after = again(tmp_path, as_of=LATER).about
    publish(tmp_path / "store.duckdb", tmp_path / "elsewhere", as_of=LATER)
    alone = current_snapshot(tmp_path / "elsewhere").about

    assert alone.snapshot == after.snapshot
    assert (after.previous, alone.previous) == (first, None)


def test_after_a_withdrawal_there_are_none_before(tmp_path):
    published(tmp_path, UNITS, CASES)
    withdraw(tmp_path / "published")

    assert again(tmp_path, as_of=LATER).about.previous is None


def test_figures_that_are_gone_are_not_compared(tmp_path):
    first = published(tmp_path, UNITS, CASES).about.snapshot
    second = again(tmp_path, as_of=LATER)
    (tmp_path / "published" / f"{first}.duckdb").unlink()

    assert second.about.previous == first
    assert previous_snapshot(second) is None


def test_figures_of_another_version_are_not_compared(tmp_path):
    _with_older(tmp_path, "UPDATE about SET program = '0.0.1'")

    assert previous_snapshot(current_snapshot(tmp_path / "published")) is None


def test_figures_with_other_columns_are_not_compared(tmp_path):
    _with_older(tmp_path, "ALTER TABLE about DROP COLUMN latest_batch")

    assert previous_snapshot(current_snapshot(tmp_path / "published")) is None


def test_a_damaged_file_is_not_compared(tmp_path):
    older = _with_older(tmp_path, "SELECT 1")
    older.write_bytes(b"not figures at all")

    assert previous_snapshot(current_snapshot(tmp_path / "published")) is None


def _with_older(folder, change):
    # The first figures are changed before any reader has opened them.
    made = published(folder / "made", UNITS, CASES).about.snapshot
    (folder / "published").mkdir()
    older = folder / "published" / f"{made}.duckdb"
    older.write_bytes((folder / "made/published" / older.name).read_bytes())
    (folder / "published/CURRENT").write_text(made, encoding="utf-8")
    with duckdb.connect(str(older)) as connection:
        connection.execute(change)
    (folder / "made/store.duckdb").rename(folder / "store.duckdb")
    again(folder, as_of=LATER)
    return older
