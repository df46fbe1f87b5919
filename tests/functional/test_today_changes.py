"""What changed against the figures published before, counted by hand."""

import datetime as dt

import duckdb
import pytest

from analytics.rollup.publish import publish
from analytics.rollup.snapshot import current_snapshot
from dashboard.filters import Filters
from dashboard.queries.today import today
from dashboard.queries.today_changes import (
    FIRST,
    changes,
    more_or_fewer,
    without_days,
)
from dashboard.settings import Place
from ingest.pipeline import ingest_paths
from tests.small_fleet import AS_OF, case, published, unit, write_rows

UNITS = [unit(f"U-{n:03}", model=f"Model {'AB'[n % 2]}") for n in range(6)]
CASES = [
    case("R1", "U-001", confirmed_mode="fuse_open"),
    case("R2", "U-002"),
]
MORE = [
    case("R2", "U-002", confirmed_mode="fuse_open"),
    case("R3", "U-003", confirmed_mode="handle_pilot_open"),
    case("R4", "U-004"),
]


@pytest.fixture
def two(tmp_path):
    """Return figures with two more cases and two more confirmed than those before."""
    published(tmp_path, UNITS, CASES)
    files = [
        write_rows(tmp_path / "more.csv", MORE),
        write_rows(tmp_path / "new.csv", [unit("U-100")]),
    ]
    ingest_paths(tmp_path / "store.duckdb", files)
    publish(tmp_path / "store.duckdb", tmp_path / "published", as_of=AS_OF)
    return current_snapshot(tmp_path / "published")


def test_the_first_figures_say_that_none_were_published_before(tmp_path):
    found = changes(published(tmp_path, UNITS, CASES), Filters())

    assert (found.sentence, found.before, found.rows) == (FIRST, None, ())


def test_counts_and_days_now_and_before(two):
    rows = {row["what"]: row for row in changes(two, Filters()).rows}

    def pair(what):
        return rows[what]["now"], rows[what]["before"], rows[what]["difference"]

    assert pair("units") == (7, 6, 1)
    assert pair("cases") == (4, 2, 2)
    assert pair("confirmed") == (3, 1, 2)
    assert pair("open") == (1, 1, 0)
    assert pair("as_of") == ("2026-01-01", "2026-01-01", 0)


def test_modes_confirmed_more_often_stand_with_both_counts(two):
    modes = {row["mode"]: row for row in changes(two, Filters()).modes}

    assert set(modes) == {"fuse_open", "handle_pilot_open"}
    assert (modes["fuse_open"]["now"], modes["fuse_open"]["before"]) == (2, 1)


def test_the_sentence_says_it_for_every_page(two):
    sentence = changes(two, Filters()).sentence

    assert sentence.startswith("Since the figures published on ")
    assert "2 more cases, 2 more confirmed cases" in sentence
    assert "Fuse open 1 → 2" in sentence


def test_filters_choose_the_cases_that_are_compared(two):
    found = changes(two, Filters.of({"model": "Model B"}))
    rows = {row["what"]: row for row in found.rows}

    assert (rows["cases"]["now"], rows["cases"]["before"]) == (2, 1)
    assert rows["units"]["now"] == 7
    assert "under these filters" in found.sentence


def test_going_back_a_day_counts_fewer(tmp_path):
    published(tmp_path, UNITS, CASES)
    publish(
        tmp_path / "store.duckdb",
        tmp_path / "published",
        as_of=dt.date(2025, 5, 1),
    )

    found = changes(current_snapshot(tmp_path / "published"), Filters())

    assert "2 fewer cases, 1 fewer confirmed case" in found.sentence


def test_figures_that_are_gone_are_not_comparable_in_words(tmp_path):
    first = published(tmp_path, UNITS, CASES).about.snapshot
    publish(
        tmp_path / "store.duckdb",
        tmp_path / "published",
        as_of=AS_OF + dt.timedelta(days=1),
    )
    (tmp_path / "published" / f"{first}.duckdb").unlink()

    found = changes(current_snapshot(tmp_path / "published"), Filters())

    assert f"({first}) are gone" in found.sentence
    assert "not comparable" in found.sentence
    assert found.before is None


def with_older(tmp_path, change):
    made = published(tmp_path / "made", UNITS, CASES).about.snapshot
    (tmp_path / "published").mkdir()
    older = tmp_path / "published" / f"{made}.duckdb"
    older.write_bytes((tmp_path / "made/published" / older.name).read_bytes())
    with duckdb.connect(str(older)) as connection:
        connection.execute(change)
    (tmp_path / "published/CURRENT").write_text(made, encoding="utf-8")
    (tmp_path / "made/store.duckdb").rename(tmp_path / "store.duckdb")
    later = AS_OF + dt.timedelta(days=1)
    publish(tmp_path / "store.duckdb", tmp_path / "published", as_of=later)
    return today(Place(tmp_path), Filters()).more


def test_figures_that_lack_what_is_asked_are_not_comparable(tmp_path):
    more = with_older(tmp_path, "ALTER TABLE cases DROP COLUMN cause_category")

    assert "not comparable" in more["change"]
    assert more["critical"]["is_compared"] is False


def test_figures_without_judged_readings_say_nothing_of_what_is_new(tmp_path):
    more = with_older(tmp_path, "ALTER TABLE readings DROP COLUMN judged")

    assert more["change"].startswith("Since the figures published on")
    assert more["critical"]["is_compared"] is False


def test_days_are_dropped_where_they_mean_something_else():
    filters = Filters.of({"from": "2025-01-01", "model": "A"})

    assert without_days(filters) == Filters.of({"model": "A"})


@pytest.mark.parametrize(
    ("difference", "words"),
    [
        (0, "no more cases"),
        (1, "1 more case"),
        (12, "12 more cases"),
        (-1, "1 fewer case"),
    ],
)
def test_a_difference_in_words(difference, words):
    assert more_or_fewer(difference, "case") == words
