"""Page Data quality: every row read is accounted for, and can be corrected."""

import csv
import io

from fastapi.testclient import TestClient

from analytics.rollup.publish import publish
from dashboard.api.app import api
from dashboard.queries.rejected import correction_file, rejected
from dashboard.settings import Place
from ingest.pipeline import ingest_paths
from ingest.store import open_for_writing
from tests import small_fleet


def test_the_rows_of_every_file_add_up_and_match_the_route(open_page):
    table = open_page("quality").dataframe[1].value
    route = TestClient(api).get("/quality").json()

    parts = ["n_accepted", "n_unchanged", "n_replaced", "n_rejected"]
    assert (table["n_read"] == table[parts].sum(axis=1)).all()
    assert list(table["n_rejected"]) == [row["n_rejected"] for row in route["files"]]


def test_the_sentence_counts_what_was_set_aside(open_page, read, place):
    n_aside = len(rejected(place).rows)

    assert f"{n_aside} were set aside" in read(open_page("quality"))


def test_rows_set_aside_are_shown_with_their_reasons_and_a_file(open_page, place):
    page = open_page("quality")

    table = page.dataframe[2].value
    assert list(table["problems"]) == [row["problems"] for row in rejected(place).rows]
    assert "Rows to correct" in [b.label for b in page.get("download_button")]


def test_a_column_that_is_not_known_is_named_and_no_row_set_aside(open_page, read):
    page = open_page("quality")

    assert "not known and were not read: paint_colour" in read(page)
    assert "unknown_column" not in list(page.dataframe[0].value["code"])


def test_a_row_that_waits_for_its_unit_or_case_is_kept_and_told(open_page, read):
    page = open_page("quality")

    assert "Rows kept that name a unit or case not known yet" in read(page)
    assert "unknown_case" not in list(page.dataframe[0].value["code"])


def test_clean_files_show_no_chart_and_nothing_to_correct(open_page, read, tmp_path):
    small_fleet.published(
        tmp_path, [small_fleet.unit("A001")], [small_fleet.case("R1", "A001")]
    )

    page = open_page("quality", of=Place(tmp_path))

    assert "0 were set aside (0.0 %)" in read(page)
    assert not page.get("vega_lite_chart")
    assert "None." in read(page)


def test_one_kind_of_rows_to_correct_is_one_file_of_theirs(open_page, read, tmp_path):
    place = Place(tmp_path)
    small_fleet.published(
        tmp_path, [small_fleet.unit("A001")], [small_fleet.case("R1", "A001")]
    )
    wrong = small_fleet.write_rows(
        tmp_path / "wrong.csv", [small_fleet.unit("B001", in_service_on="soon")]
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


def test_units_left_out_are_counted_by_reason(open_page, read, tmp_path):
    units = [small_fleet.unit("A001"), small_fleet.unit("A002", in_service_on="")]
    small_fleet.published(
        tmp_path, units, [small_fleet.case("R1", "A001"), small_fleet.case("R2", "XX9")]
    )

    shown = read(open_page("quality", of=Place(tmp_path)))

    assert "units without usable dates: 1" in shown
    assert "cases of units that are not in the register: 1" in shown


def test_how_late_reports_come_in_is_estimated_or_said_to_be_assumed(
    open_page, read, tmp_path
):
    small_fleet.published(
        tmp_path, [small_fleet.unit("A001")], [small_fleet.case("R1", "A001")]
    )

    assert "delays on record" in read(open_page("quality"))
    assert "0 days are assumed" in read(open_page("quality", of=Place(tmp_path)))


def test_a_store_being_written_leaves_the_published_figures_on_the_page(
    open_page, read, tmp_path
):
    place = Place(tmp_path)
    small_fleet.published(
        tmp_path, [small_fleet.unit("A001")], [small_fleet.case("R1", "A001")]
    )

    with open_for_writing(place.store):
        shown = read(open_page("quality", of=place))

    assert "Of 2 rows read from 2 files" in shown
