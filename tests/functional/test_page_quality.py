"""Page Data quality: every row read is accounted for, and can be corrected."""

import csv
import io

import pytest
from fastapi.testclient import TestClient

from analytics.rollup.publish import publish
from analytics.rollup.snapshot import current_snapshot
from dashboard.api.app import api
from dashboard.filters import Filters
from dashboard.place import VARIABLE
from dashboard.queries.quality import PARTS, part, quality
from dashboard.queries.rejected import correction_file, rejected
from dashboard.settings import Place
from ingest.pipeline import ingest_paths
from ingest.store import open_for_writing
from tests import small_fleet
from tests.quality_page import (
    BY_FILE,
    EXAMPLES,
    FILES,
    LEFT_OUT,
    PROBLEMS,
    SET_ASIDE,
    WAITING,
    named,
    table,
)
from tests.small_fleet import case, unit


def test_the_rows_of_every_file_add_up_and_match_the_route(open_page):
    shown = table(open_page("quality"), FILES)
    route = TestClient(api).get("/quality").json()

    parts = ["n_accepted", "n_unchanged", "n_replaced", "n_rejected"]
    assert (shown["n_read"] == shown[parts].sum(axis=1)).all()
    assert list(shown["n_rejected"]) == [row["n_rejected"] for row in route["files"]]


def test_the_sentence_counts_what_was_set_aside_with_share_and_interval(
    open_page, read, place
):
    n_aside = len(rejected(place).rows)

    shown = read(open_page("quality"))

    assert f"{n_aside} were set aside (" in shown
    assert "95 % interval" in shown


def test_each_reason_comes_with_examples_and_what_to_do(open_page, snapshot):
    page = open_page("quality")
    answer = quality(snapshot, Filters())

    problems = table(page, PROBLEMS)
    assert list(problems["n_rows"]) == sorted(problems["n_rows"], reverse=True)
    assert problems["what_to_do"].str.endswith(".").all()
    examples = table(page, EXAMPLES)
    assert len(examples) == len(part(answer, "examples").rows)
    dates = examples[(examples["code"] == "not_a_date") & (examples["kind"] == "units")]
    assert dates["cell"].iloc[0] in dates["message"].iloc[0]


@pytest.mark.parametrize("name", PARTS)
def test_every_further_table_is_exported_as_the_answer_holds_it(
    snapshot, place, monkeypatch, name
):
    monkeypatch.setenv(VARIABLE, str(place.data))
    answer = part(quality(snapshot, Filters()), name)

    with TestClient(api) as client:
        exported = client.get(f"/export/quality-{name}", params={"format": "json"})

    assert exported.json() == answer.document()


def test_a_table_on_the_page_links_to_its_own_data(open_page, read):
    shown = read(open_page("quality"))

    assert "/api/v1/export/quality-files?format=json" in shown
    assert "/api/v1/export/quality-months?format=json" in shown


def test_rows_set_aside_are_shown_with_their_reasons_and_a_file(open_page, place):
    page = open_page("quality")

    shown = table(page, SET_ASIDE)
    assert list(shown["problems"]) == [row["problems"] for row in rejected(place).rows]
    assert "Rows to correct" in [b.label for b in page.get("download_button")]


def test_a_column_that_is_not_known_is_named_and_no_row_set_aside(open_page, read):
    page = open_page("quality")

    assert "not known and were not read: paint_colour" in read(page)
    assert "unknown_column" not in list(table(page, PROBLEMS)["code"])


def test_a_row_that_waits_for_its_unit_or_case_is_kept_and_told(open_page, read):
    page = open_page("quality")

    assert "Rows kept that name a unit or case not known yet" in read(page)
    assert set(table(page, WAITING)["waits_for"]) == {"unit", "case"}
    assert "unknown_case" not in list(table(page, PROBLEMS)["code"])


def test_clean_files_show_no_reasons_and_nothing_to_correct(open_page, read, tmp_path):
    small_fleet.published(tmp_path, [unit("A001")], [case("R1", "A001")])

    page = open_page("quality", of=Place(tmp_path))

    assert "0 were set aside (0 %, 95 % interval 0 to 66 %)" in read(page)
    assert not [t for name in (PROBLEMS, EXAMPLES, BY_FILE) for t in named(page, name)]
    assert read(page).count("None.") == 3


def test_one_row_set_aside_was_set_aside(open_page, read, tmp_path):
    place = Place(tmp_path)
    small_fleet.published(tmp_path, [unit("A001")], [])
    wrong = small_fleet.write_rows(tmp_path / "wrong.csv", [unit("B001", model="")])
    ingest_paths(place.store, [wrong])
    publish(place.store, place.published, as_of=small_fleet.AS_OF)

    shown = read(open_page("quality", of=place))

    assert "Of 2 rows read from 2 files, 1 was set aside (50 %" in shown


def test_one_kind_of_rows_to_correct_is_one_file_of_theirs(open_page, read, tmp_path):
    place = Place(tmp_path)
    small_fleet.published(tmp_path, [unit("A001")], [case("R1", "A001")])
    wrong = small_fleet.write_rows(
        tmp_path / "wrong.csv", [unit("B001", in_service_on="soon")]
    )
    ingest_paths(place.store, [wrong])

    page = open_page("quality", of=place)
    name, content = correction_file(place)

    assert "Correct them there" in read(page)
    assert name == "to-correct-units.csv"
    rows = list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"))))
    assert rows[0]["problems"] == "in_service_on:not_a_date"


def test_figures_that_rest_on_no_file_say_so(open_page, read, tmp_path):
    place = Place(tmp_path)
    with open_for_writing(place.store):
        pass
    publish(place.store, place.published, as_of=small_fleet.AS_OF)

    page = open_page("quality", of=place)

    assert "These figures rest on no file" in read(page)
    assert not page.get("vega_lite_chart")


def test_units_left_out_are_counted_by_reason_and_listed(open_page, read, tmp_path):
    units = [unit("A001"), unit("A002", in_service_on="")]
    small_fleet.published(tmp_path, units, [case("R1", "A001"), case("R2", "XX9")])

    page = open_page("quality", of=Place(tmp_path))

    assert "units without usable dates: 1" in read(page)
    assert "cases of units that are not in the register: 1" in read(page)
    assert list(table(page, LEFT_OUT)["serial"]) == ["A002"]


def test_the_route_and_the_command_give_one_answer_under_filters(
    place, snapshot, monkeypatch
):
    monkeypatch.setenv(VARIABLE, str(place.data))
    asked = {"component": "handle", "from": "2026-01-01"}

    with TestClient(api) as client:
        found = client.get("/quality", params=asked).json()

    filters = Filters.of({"component": ["handle"], "from": "2026-01-01"})
    assert found == quality(snapshot, filters).document()
    assert found["filters"] == {"component": ["handle"], "from": "2026-01-01"}


def test_a_store_being_written_leaves_the_published_figures_on_the_page(
    open_page, read, tmp_path
):
    place = Place(tmp_path)
    small_fleet.published(tmp_path, [unit("A001")], [case("R1", "A001")])

    with open_for_writing(place.store):
        shown = read(open_page("quality", of=place))

    assert "Of 2 rows read from 2 files" in shown
    assert current_snapshot(place.published).about.n_cases == 1
