"""Page Failure modes, the parts below the table, and their files."""

import re
from urllib.parse import parse_qs, urlsplit

import pytest
from fastapi.testclient import TestClient

from analytics.rollup.rules import LifeRules
from dashboard import text
from dashboard.api.app import api
from dashboard.drawing import pictures
from dashboard.filters import Filters
from dashboard.page_parts.modes_counts import modes_picture
from dashboard.page_parts.modes_groups import groups_sentence
from dashboard.page_parts.modes_pairs import pairs_sentence
from dashboard.place import VARIABLE
from dashboard.queries.frequencies_groups import DIMENSIONS
from dashboard.queries.frequencies_parts import PARTS, part
from dashboard.queries.modes import modes
from dashboard.settings import Place
from ingest.pipeline import ingest_paths
from tests import small_fleet

TITLES = (
    "By component, severity, mechanism and cause",
    "Each mode in both periods",
    "Returns by month of failure and by age",
    "Do some groups fail more often than units of like age?",
    "Which modes go together with a symptom, a supplier, a place?",
    "Do repairs last? Units back within 90 days",
    "What is left out and assumed",
)


def test_the_parts_are_there_closed_and_in_order(open_page):
    page = open_page("modes")

    assert [part.label for part in page.expander] == list(TITLES)
    assert not page.exception


def test_the_table_shows_the_rate_and_leads_to_the_cases(open_page, snapshot):
    page = open_page("modes", component=["handle"], to="2026-03-31")
    first = modes(
        snapshot, Filters.of({"component": ["handle"], "to": "2026-03-31"})
    ).rows[0]

    shown = page.dataframe[0].value.iloc[0]
    assert shown["rate"] == pytest.approx(first["rate"])
    link = urlsplit(shown["cases"])
    assert link.path == "cases"
    assert parse_qs(link.query) == {
        "component": ["handle"], "to": ["2026-03-31"], "mode": [first["mode"]],
    }  # fmt: skip


def test_a_mode_chosen_below_the_table_has_a_link_that_keys_reach(open_page, snapshot):
    second = modes(snapshot, Filters()).rows[1]
    page = open_page("modes")

    page.selectbox(key="modes_cases_of").set_value(second["mode"]).run()

    (link,) = page.get("page_link")
    n = text.counted(second["n_cases"], "case")
    assert link.proto.label.startswith(f"Open these {n}")
    assert link.proto.query_string == f"mode={second['mode']}"


def test_what_the_rates_rest_on_stands_beside_them(open_page, read, snapshot):
    basis = modes(snapshot, Filters()).more["rate_basis"]

    shown = read(open_page("modes"))

    assert basis["sentence"] in shown
    assert f"Shares are of {modes(snapshot, Filters()).more['n_confirmed']}" in (
        shown.replace(text.THIN_SPACE, "")
    )
    assert "Repeat returns count again" in shown


def test_without_a_register_the_page_says_so_and_shows_no_rate(
    open_page, read, tmp_path
):
    cases = [
        small_fleet.case("R1", "B001", confirmed_mode="handle_pilot_open"),
        small_fleet.case("R2", "B002"),
    ]
    undated = [small_fleet.unit("A001", in_service_on="")]
    small_fleet.published(tmp_path, undated, cases)

    page = open_page("modes", of=Place(tmp_path))

    shown = read(page)
    assert "nobody knows how many were in service" in shown
    assert "rate" not in page.dataframe[0].value
    assert "per 1" not in shown.split("Returns:")[0]


def test_a_month_that_is_not_complete_says_so_in_chart_and_table(
    open_page, table_with, snapshot
):
    months = modes(snapshot, Filters()).more["months"]
    late = {row["month"] for row in months if not row["is_complete"]}

    table = table_with(open_page("modes"), "month", "n_open")

    assert late
    assert set(table.loc[table["state"] == "not complete", "month"]) == late
    assert table.loc[table["state"] == "not complete", "rate"].isna().all()


@pytest.mark.parametrize(
    ("serial", "in_rate"), [("A002", None), ("B999", [1, 0, 0, 0, 0, 0, 0])]
)
def test_failures_in_the_rate_have_a_column_where_they_are_fewer(
    open_page, table_with, read, tmp_path, serial, in_rate
):
    units = [small_fleet.unit("A001"), small_fleet.unit("A002")]
    cases = [
        small_fleet.case(
            f"R-{n}", n, received_on="2025-06-01", confirmed_mode="contactor_welded"
        )
        for n in ("A001", serial)
    ]  # B999 is not in the register
    small_fleet.published(tmp_path, units, cases)

    page = open_page("modes", of=Place(tmp_path))

    table = table_with(page, "month", "n_open")
    assert table["n_failures"].iloc[-1] == 2
    assert ("n_in_rate" in table) == (in_rate is not None)
    assert ("Failures in the rate: of units" in read(page)) == (in_rate is not None)
    if in_rate:
        assert list(table["n_in_rate"])[::-1] == in_rate


@pytest.mark.parametrize("by", DIMENSIONS)
def test_groups_by_any_kind_are_shown_with_the_numbers_of_the_query(
    open_page, table_with, snapshot, by
):
    rows = modes(snapshot, Filters()).more["groups"][by]
    page = open_page("modes")

    page.selectbox(key="modes_groups_by").set_value(by).run()

    table = table_with(page, "standardised", "covered")
    assert list(table["n_failures"]) == [row["n_failures"] for row in rows]
    assert list(table["standardised"]) == pytest.approx(
        [row["standardised"] for row in rows]
    )


def test_an_unusual_group_is_named_with_its_ratio_and_no_blame():
    row = {
        "value": "Lot 7", "n_compared": 14, "expected": 5.0, "ratio": 2.8,
        "ratio_low": 1.5, "ratio_high": float("inf"), "compared_with": "others",
        "is_unusual": True,
    }  # fmt: skip

    said = groups_sentence("lot", [row, row | {"is_unusual": False}])

    assert said == (
        "Clearly different from units of like age: lot Lot 7, 14 failures where 5.00 "
        "were expected from the others (ratio 2.80, 95 % interval 1.50 or more)."
    )


@pytest.mark.parametrize("by", ["symptom", "cable_supplier", "environment"])
def test_pairs_are_shown_least_likely_first_small_cells_marked(
    open_page, table_with, snapshot, by
):
    rows = modes(snapshot, Filters()).more["pairs"][by][:100]
    page = open_page("modes")

    page.selectbox(key="modes_pairs_by").set_value(by).run()

    table = table_with(page, "residual", "size")
    assert list(table["n_cases"]) == [row["n_cases"] for row in rows]
    assert [size == "small" for size in table["size"]] == [r["is_small"] for r in rows]
    if by != "symptom":
        words = parse_qs(urlsplit(table["cases"].iloc[0]).query)
        assert words == {"mode": [rows[0]["mode"]], by: [rows[0]["value"]]}


def test_returns_per_shipped_are_shown_where_the_register_lacks_the_units(
    open_page, table_with, read, tmp_path
):
    left = {"model": "Model S", "shipped_month": "2024-01", "quantity": 500}
    file = small_fleet.write_rows(tmp_path / "shipments.csv", [left])
    ingest_paths(tmp_path / "store.duckdb", [file])
    cases = [small_fleet.case("R1", "B001", confirmed_mode="handle_pilot_open")]
    small_fleet.published(tmp_path, [small_fleet.unit("A001")], cases)

    page = open_page("modes", of=Place(tmp_path))

    table = table_with(page, "n_shipped", "basis")
    assert list(table["rate"]) == pytest.approx([2])
    assert "No time in service is behind these" in read(page)
    # Seven months on record, three against three; the case is of the month before them.
    assert "Nothing to compare, no case was confirmed" in read(page)


def test_returns_that_are_no_failures_have_a_table_and_no_bars(
    open_page, read, tmp_path
):
    cases = [small_fleet.case("R1", "A001", confirmed_mode="no_fault_found")]
    units = [small_fleet.unit(f"A{n:03}") for n in range(1, 4)]
    small_fleet.published(
        tmp_path, units, cases, rules=LifeRules(confirmation_delay_days=200)
    )

    page = open_page("modes", of=Place(tmp_path))

    shown = read(page)
    assert "No failure of a unit is confirmed" in shown
    assert list(page.dataframe[0].value["severity"]) == ["no failure of the unit"]
    assert "no day asked for lies in a complete month" in shown
    assert "commonest" not in shown


def test_pairs_that_cannot_be_compared_say_so():
    assert pairs_sentence("environment", [], []).startswith("Too little to compare")


def test_every_part_is_the_same_on_page_and_export(place, monkeypatch, snapshot):
    monkeypatch.setenv(VARIABLE, str(place.data))
    answer = modes(snapshot, Filters())
    client = TestClient(api)

    for name in PARTS:
        route = client.get(f"/export/modes-{name}", params={"format": "json"})
        assert route.status_code == 200, name
        expected = part(answer, name).document()
        assert route.json() == expected, name
        assert expected["method"] != answer.method


def test_a_picture_of_the_modes_can_be_taken_home(snapshot):
    answer = modes(snapshot, Filters())
    failures = [row for row in answer.rows if row["is_failure"]]

    drawn = pictures.as_svg(modes_picture(failures), answer).decode()

    assert re.search(r"failure modes, by confirmed cases", drawn)
    assert "invented data" in drawn
