"""Page Data quality: what is proved, how late reports are, what the data ask."""

import pytest
from fastapi.testclient import TestClient

from analytics.rollup.publish import publish
from dashboard.api.app import api
from dashboard.filters import Filters
from dashboard.queries.quality import quality
from dashboard.settings import Place
from ingest.pipeline import ingest_paths
from tests import small_fleet
from tests.quality_page import (
    CONTRADICTED,
    FILES,
    MONTHS,
    SPELLING,
    SUPPORT,
    named,
    table,
)
from tests.small_fleet import case, unit


def test_how_late_reports_come_in_is_estimated_or_said_to_be_assumed(
    open_page, read, tmp_path
):
    small_fleet.published(tmp_path, [unit("A001")], [case("R1", "A001")])

    estimated = read(open_page("quality"))
    assumed = read(open_page("quality", of=Place(tmp_path)))

    assert "From failure to receipt: 50 % within" in estimated
    assert "95 % of failures are confirmed within" in estimated
    assert "From failure to receipt: the data do not say yet" in assumed
    assert "Needed: at least 20 delays of the last twelve months. Found: 0." in assumed
    assert "0 days are assumed" in assumed


def test_the_latest_months_are_marked_not_complete(open_page, read):
    page = open_page("quality")

    months = table(page, MONTHS)
    assert len(months) == 12
    assert months["is_complete"].iloc[0] == "complete"
    assert months["is_complete"].iloc[-1] == "not complete"
    assert "months are not complete" in read(page)


def test_without_delays_the_months_have_no_share_to_show(open_page, tmp_path):
    small_fleet.published(tmp_path, [unit("A001")], [case("R1", "A001")])

    months = table(open_page("quality", of=Place(tmp_path)), MONTHS)

    assert list(months) == ["month", "n_received", "n_confirmed", "is_complete"]
    assert months["n_received"].sum() == 1


def test_confirmed_modes_are_shown_by_what_backs_them(open_page, read, snapshot):
    page = open_page("quality")
    support = quality(snapshot, Filters()).more["label_support"]

    shown = table(page, SUPPORT)
    assert list(shown["n_cases"]) == list(support["counts"].values())
    assert shown["support"].iloc[0] == "proved by a reading"
    n_backed, n = support["counts"]["backed"], support["n_confirmed"]
    assert f"Proved by a reading: {n_backed} of {n} confirmed cases" in read(page)


def test_a_contradicted_mode_is_listed_with_the_reason_and_a_link(open_page, tmp_path):
    place = Place(tmp_path)
    closed = {"confirmed_mode": "no_fault_found", "confirmed_on": "2025-06-05"}
    cases = [case("R/1", "A001", **closed), case("R2", "A002", **closed)]
    units = [unit(f"A00{n}") for n in range(9)]
    small_fleet.published(tmp_path, units, cases)
    reading = {
        "case_id": "R/1", "check": "pilot_continuity", "taken_at": "2025-06-02",
        "stage": "diagnosis", "value": "9", "unit": "ohm",
    }  # fmt: skip
    ingest_paths(place.store, [small_fleet.write_rows(tmp_path / "r.csv", [reading])])
    publish(place.store, place.published, as_of=small_fleet.AS_OF)

    page = open_page("quality", of=place)

    (shown,) = table(page, CONTRADICTED).to_dict("records")
    assert (shown["case_id"], shown["mode"]) == ("R/1", "No fault found")
    assert "pilot_continuity failed" in shown["words"]
    assert TestClient(api).get(shown["link"].removeprefix("/api/v1")).status_code == 200
    assert "a reading speaks against, listed below: 1." in page.warning[0].value


def test_without_a_confirmed_case_nothing_is_proved_or_not(open_page, read, tmp_path):
    small_fleet.published(tmp_path, [unit("A001")], [case("R1", "A001")])

    page = open_page("quality", of=Place(tmp_path))

    assert "No case is confirmed yet." in read(page)
    assert not named(page, SUPPORT)


def test_filters_choose_cases_and_say_so(open_page, read):
    page = open_page("quality", **{"from": "2030-01-01"})

    shown = read(page)
    assert "The filters choose cases" in shown
    assert "No return of the last twelve months is left" in shown
    assert len(table(page, FILES)) == 3


def test_spellings_are_offered_as_lines_and_never_merged(open_page, read, tmp_path):
    units = [unit("A001", site="Harbour"), unit("A002", site="harbour ")]
    small_fleet.published(tmp_path, [*units, unit("A003", site="HARBOUR-")], [])

    page = open_page("quality", of=Place(tmp_path))

    assert "Nothing is merged by guess" in read(page)
    assert "[codes.site]" in page.code[0].value
    assert set(table(page, SPELLING)["field"]) == {"site"}
    assert "spellings of one another" in read(open_page("quality"))


def test_what_the_data_make_one_ask_stands_at_the_top(open_page, tmp_path):
    small_fleet.published(tmp_path, [unit("A001")], [case("R1", "A001")])

    page = open_page("quality", of=Place(tmp_path))

    assert "mainly returned units" in page.warning[0].value
    assert not open_page("quality").warning


@pytest.mark.parametrize(
    ("n_before", "n_after", "words"),
    [
        (20, 1, "reported to you? If not, set `failures_seen`"),
        (3, 1, "The data do not show whether later failures are reported"),
        (6, 40, "No reason to ask"),
        (3, 0, "95 % interval 0 to "),
        (0, 3, "95 % interval from "),
    ],
)
def test_failures_beside_the_end_of_the_term_are_put_in_words(
    open_page, read, tmp_path, n_before, n_after, words
):
    units = [
        unit(f"A{n:03}", in_service_on="2024-01-01", warranty_months=12)
        for n in range(80)
    ]
    days = ["2024-12-01"] * n_before + ["2025-02-01"] * n_after
    cases = [
        case(
            f"R{n}", f"A{n:03}", failed_on=day, received_on=day, confirmed_on=day,
            confirmed_mode="handle_pilot_open",
        )
        for n, day in enumerate(days)
    ]  # fmt: skip
    small_fleet.published(tmp_path, units, cases)

    assert words in read(open_page("quality", of=Place(tmp_path)))
