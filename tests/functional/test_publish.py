"""Publishing: the same records give the same figures, and a wrong count is stopped."""

import datetime as dt
import json

import duckdb
import pytest

from analytics.rollup import sql_files
from analytics.rollup.publish import FIRST_TABLES, THEN_TABLES, publish
from analytics.rollup.snapshot import current_snapshot
from dashboard.filters import Filters
from dashboard.queries.modes import modes
from ingest.errors import NotPublishedError, RefusedError
from ingest.pipeline import ingest_paths
from tests.small_fleet import AS_OF, case, published, unit, write_rows

UNITS = [unit(f"U-{n:03}") for n in range(5)]
CASES = [case("R1", "U-001", confirmed_mode="contactor_welded")]


def again(folder, **options):
    return publish(folder / "store.duckdb", folder / "published", **options)


def test_the_same_records_and_day_give_the_same_id(tmp_path):
    first = published(tmp_path, UNITS, CASES).about.snapshot

    assert again(tmp_path, as_of=AS_OF).snapshot == first


def test_another_day_gives_other_figures_and_the_first_stay(tmp_path):
    first = published(tmp_path, UNITS, CASES)
    again(tmp_path, as_of=dt.date(2025, 5, 1))

    assert current_snapshot(tmp_path / "published").about.n_cases == 0
    assert modes(first, Filters()).rows[0]["n_cases"] == 1
    assert len(list((tmp_path / "published").glob("2*.duckdb"))) == 2


def test_a_wrong_count_is_not_published_and_the_figures_before_stay(
    tmp_path, monkeypatch
):
    before = published(tmp_path, UNITS, CASES).about.snapshot
    whole = sql_files.statement

    def one_life_short(folder, name):
        text = whole(folder, name)
        return text.replace("NULL;", "NULL LIMIT 4;") if name == "lives" else text

    monkeypatch.setattr(sql_files, "statement", one_life_short)

    with pytest.raises(RefusedError, match="Not published: units in lives"):
        again(tmp_path, as_of=dt.date(2025, 12, 1))

    assert current_snapshot(tmp_path / "published").about.snapshot == before
    assert not list((tmp_path / "published").glob("unfinished*"))


def test_a_pointer_to_a_file_that_is_gone_says_so(tmp_path):
    snapshot = published(tmp_path, UNITS, CASES).about.snapshot
    (tmp_path / "published" / f"{snapshot}.duckdb").unlink()

    with pytest.raises(NotPublishedError, match="that file is not there"):
        current_snapshot(tmp_path / "published")


def test_progress_is_told_in_words(tmp_path):
    published(tmp_path, UNITS, CASES)
    told = []

    again(tmp_path, as_of=AS_OF, progress=lambda *step: told.append(step))

    # Each table is a step; then come the watch, the training and the pointer.
    steps = len(FIRST_TABLES) + len(THEN_TABLES) + 3
    assert told[0] == ("counting model rules", 0, steps)
    assert told[-1] == ("published", steps, steps)
    assert len(told) == steps


def test_the_fault_suggestion_is_trained_once_and_kept_while_it_fits(tmp_path):
    published(tmp_path, UNITS, CASES)

    assert not again(tmp_path, as_of=AS_OF + dt.timedelta(days=1)).trained
    assert again(tmp_path, as_of=AS_OF, train=True).trained


def test_it_is_trained_again_when_the_confirmed_cases_grew(tmp_path):
    published(tmp_path, UNITS, CASES)
    more = [case("R2", "U-002", confirmed_mode="fuse_open")]
    ingest_paths(tmp_path / "store.duckdb", [write_rows(tmp_path / "more.csv", more)])

    assert again(tmp_path, as_of=AS_OF).trained


def test_it_is_trained_again_for_a_day_before_what_it_has_seen(tmp_path):
    published(tmp_path, UNITS, CASES)

    assert again(tmp_path, as_of=AS_OF - dt.timedelta(days=1)).trained


def test_it_is_trained_again_after_a_day(tmp_path):
    snapshot = published(tmp_path, UNITS, CASES)
    note = snapshot.suggester_folder / "trained.json"
    old = json.loads(note.read_text()) | {"trained_at": "2020-01-01T00:00:00+00:00"}
    note.write_text(json.dumps(old))

    assert again(tmp_path, as_of=AS_OF).trained


@pytest.mark.parametrize(
    ("change", "question"),
    [
        ("DROP TABLE register_counts", "quality_register"),
        ("ALTER TABLE about DROP COLUMN latest_batch", "about"),
        ("ALTER TABLE about ADD COLUMN newer INTEGER", "about"),
    ],
)
def test_figures_of_another_version_ask_to_be_published_anew(
    tmp_path, change, question
):
    made = published(tmp_path / "made", UNITS, CASES).about.snapshot
    older = tmp_path / "older"
    older.mkdir()
    file = older / f"{made}.duckdb"
    file.write_bytes((tmp_path / "made/published" / file.name).read_bytes())
    with duckdb.connect(str(file)) as connection:
        connection.execute(change)
    (older / "CURRENT").write_text(made, encoding="utf-8")

    with pytest.raises(NotPublishedError, match=f"version .* do not answer {question}"):
        current_snapshot(older).ask(question)
