"""Page Failure modes: the same numbers as route and query, filters in the address."""

import pytest
from fastapi.testclient import TestClient

from dashboard import exports, text
from dashboard.api.app import api
from dashboard.filters import Filters
from dashboard.queries.modes import modes
from dashboard.settings import Place
from tests import small_fleet


@pytest.fixture
def counted(tmp_path):
    """Return five returns counted by hand: 2 pilot, 1 welded, 1 nothing, 1 open."""
    place = Place(tmp_path)
    confirmed = [
        "handle_pilot_open", "handle_pilot_open", "contactor_welded", "no_fault_found",
    ]  # fmt: skip
    cases = [
        small_fleet.case(f"R{n}", f"A{n:03}", confirmed_mode=mode)
        for n, mode in enumerate([*confirmed, ""])
    ]
    units = [small_fleet.unit(f"A{n:03}") for n in range(10)]
    small_fleet.published(tmp_path, units, cases)
    return place


def test_the_answer_counts_what_was_counted_by_hand(open_page, read, counted):
    shown = read(open_page("modes", of=counted))

    # 2 of 4, exact limits of Clopper and Pearson (1934) for 2 of 4: 6.8 to 93.2 %.
    assert "2 of 4 confirmed cases (50 %, 95 % interval 7 to 93 %)" in shown
    assert "Returns: 5, of these confirmed as a failure of the unit 3, " in shown
    assert "confirmed as no failure of it 1 (No fault found 1), open 1." in shown


def test_page_route_and_query_give_the_same_numbers(open_page, snapshot):
    page = open_page("modes", component=["handle"])
    route = TestClient(api).get("/modes", params={"component": "handle"}).json()
    rows = modes(snapshot, Filters(component=("handle",))).rows

    table = page.dataframe[0].value
    assert list(table["n_cases"]) == [row["n_cases"] for row in rows]
    assert list(table["share"]) == pytest.approx([100 * r["share"] for r in rows])
    assert list(table["high"]) == pytest.approx([100 * r["high"] for r in rows])
    assert route["rows"] == rows
    first = rows[0]
    sentence = next(m.value for m in page.markdown if "Most often" in m.value)
    assert f"{first['n_cases']} of {first['n_confirmed']} confirmed" in sentence
    assert text.share(first["share"], first["n_confirmed"]) in sentence


def test_the_address_of_the_data_carries_the_words_of_the_page(open_page, read):
    shown = read(open_page("modes", component=["handle", "cable"], to="2026-03-31"))

    assert "(/api/v1/modes?component=handle&component=cable&to=2026-03-31)" in shown


def test_a_filter_chosen_goes_into_the_address_and_its_chip_takes_it_out(open_page):
    page = open_page("modes")

    page.multiselect(key="modes_filter_component").set_value(["handle", "cable"]).run()
    assert page.query_params["component"] == ["handle", "cable"]

    page.button(key="modes_drop_component_handle").click().run()
    assert page.query_params["component"] == "cable"
    assert page.multiselect(key="modes_filter_component").value == ["cable"]

    page.button(key="modes_drop_component_cable").click().run()
    assert "component" not in page.query_params
    assert not page.exception


def test_a_day_chosen_goes_into_the_address_and_out_again(open_page):
    page = open_page("modes", to="2026-05-31")

    page.date_input(key="modes_filter_from").set_value("2026-01-01").run()
    assert page.query_params["from"] == "2026-01-01"

    page.date_input(key="modes_filter_from").set_value(None).run()
    assert "from" not in page.query_params
    assert page.query_params["to"] == "2026-05-31"


def test_a_value_that_no_unit_has_is_shown_as_chosen_and_leaves_nothing(
    open_page, read
):
    page = open_page("modes", model=["No Such Model"])

    assert "No return is left under these filters" in read(page)
    assert page.multiselect(key="modes_filter_model").value == ["No Such Model"]
    assert not page.dataframe
    assert not page.get("vega_lite_chart")


def test_only_open_returns_give_a_sentence_and_no_empty_chart(
    open_page, read, tmp_path
):
    small_fleet.published(
        tmp_path, [small_fleet.unit("A001")], [small_fleet.case("R1", "A001")]
    )

    page = open_page("modes", of=Place(tmp_path))

    assert "No failure of a unit is confirmed" in read(page)
    assert "open 1." in read(page)
    assert not page.get("vega_lite_chart")


def test_the_chart_and_what_is_left_out_are_there(open_page, read):
    page = open_page("modes")

    assert len(page.get("vega_lite_chart")) == 3
    assert page.expander[-1].label == "What is left out and assumed"
    assert "Clopper-Pearson" in read(page)


def test_the_files_offered_are_those_of_the_export(open_page, snapshot):
    page = open_page("modes")

    labels = [button.label for button in page.get("download_button")]
    assert labels[:5] == ["SVG", "PNG", "CSV", "XLSX", "Parquet"]
    assert exports.as_csv(modes(snapshot, Filters())).startswith(b"\xef\xbb\xbfmode,")
