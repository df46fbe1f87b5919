"""The pages one drills down to: a list of returns, one return, one unit."""

import pytest

from analytics.rollup.publish import publish
from dashboard.settings import Place
from ingest.pipeline import ingest_paths
from tests.small_fleet import AS_OF, case, published, reading, unit, write_rows

CASE, SERIAL = "R/1 & 2?", "U/001"


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """Return figures with names that mean something in an address."""
    place = Place(tmp_path_factory.mktemp("history"))
    units = [
        unit(SERIAL, production_lot="L/7", warranty_months=24),
        *(unit(f"U/00{n}") for n in range(2, 9)),
    ]
    cases = [
        case(CASE, SERIAL, received_on="2025-12-20", symptoms="handle_hot"),
        case(
            "R2",
            "U/002",
            confirmed_mode="contactor_welded",
            confirmed_on="2025-06-10",
        ),
        case("R3", "U/003", confirmed_mode="fuse_open", closed_on="2025-07-01"),
        case("R4", "U/004", closed_on="2025-07-01"),
        case("R5", "UNKNOWN-1", confirmed_mode="no_fault_found"),
    ]
    readings = [
        reading(CASE, "contactor_open", point="L1", value="0.4", unit="ohm"),
        reading(CASE, "proved_dead", stage="intake", outcome="pass"),
    ]
    published(place.data, units, cases, readings=readings)
    return place


def links(page):
    found = [link.proto for link in page.get("page_link")]
    return {
        link.label.removesuffix(" →"): (link.page, link.query_string) for link in found
    }


def test_a_return_shows_its_state_readings_and_verdicts(
    open_page, read, table_with, place
):
    page = open_page("case", of=place, case_id=CASE)

    shown = read(page)
    assert f"Return {CASE}: received on 2025-12-20, waits for confirmation" in shown
    assert "for 12 days up to 2026-01-01" in shown
    assert "2 readings, 1 outside the limit or recorded as failed" in shown
    table = table_with(page, "label", "verdict", "limit").set_index("label")
    assert table.loc["Contactor open", "verdict"] == "fail"
    assert table.loc["Contactor open", "limit"] == "at least 1 000 000 ohm"
    assert table.loc["Contactor open", "shown"] == "0.4 ohm"
    assert table.loc["Proved dead", "verdict"] == "pass"


def test_a_return_that_a_reading_makes_critical_says_what_to_do(open_page, place):
    page = open_page("case", of=place, case_id=CASE)

    (box,) = [part.value for part in page.warning]
    assert "Critical by a reading, not closed" in box
    assert "Confirm on the bench" in box


def test_a_confirmed_critical_return_says_what_to_do_until_it_is_closed(
    open_page, read, place
):
    page = open_page("case", of=place, case_id="R2")

    assert "confirmed on 2025-06-10 as Contactor welded (critical), not closed" in read(
        page
    )
    assert "Critical, not closed" in page.warning[0].value
    assert not open_page("case", of=place, case_id="R3").warning


@pytest.mark.parametrize(
    ("case_id", "words"),
    [
        ("R3", "confirmed as Fuse open (degraded), closed on 2025-07-01"),
        ("R4", "closed on 2025-07-01 without a confirmed mode"),
        ("R5", "(no failure of the unit)"),
    ],
)
def test_each_end_of_a_return_is_said(open_page, read, place, case_id, words):
    shown = read(open_page("case", of=place, case_id=case_id))

    assert words in shown
    assert "No reading of this return is stored." in shown


def test_the_way_up_and_down_goes_by_words_of_the_address(open_page, place):
    found = links(open_page("case", of=place, case_id=CASE))

    assert found["Today"] == ("today", "")
    assert found["Returns"] == ("cases", "")
    assert found[f"Open its unit {SERIAL}"] == ("unit", "serial=U%2F001")


def test_a_return_that_is_not_there_is_told_in_words(open_page, read, place):
    shown = read(open_page("case", of=place, case_id="R/none"))

    assert "There is no case R/none" in shown
    assert "lists all of them" in shown


@pytest.mark.parametrize(("page", "what"), [("case", "return"), ("unit", "unit")])
def test_an_address_without_a_name_asks_for_one(open_page, read, place, page, what):
    shown = open_page(page, of=place)
    assert f"The address names no {what}." in read(shown)

    shown.text_input[0].input("X/9").run()

    assert links(shown)[f"Open the {what} X/9"][0] == page


def test_a_unit_shows_its_returns_and_warranty(open_page, read, table_with, place):
    page = open_page("unit", of=place, serial="u/001")

    shown = read(page)
    assert f"Unit {SERIAL}, Model A: 1 return." in shown
    assert (
        "Its warranty until 2027-01-01 (of the unit) still ran on 2026-01-01." in shown
    )
    table = table_with(page, "link", "received_on", "symptoms")
    assert table["link"].tolist() == ["case?case_id=R%2F1%20%26%202%3F"]
    assert links(page)["Open the returns of lot L/7"] == ("cases", "lot=L%2F7")


def test_a_unit_without_returns_or_term_says_so(open_page, read, place):
    shown = read(open_page("unit", of=place, serial="U/008"))

    assert "It never came back." in shown
    assert "The end of its warranty is not known" in shown


def test_a_unit_known_only_from_its_return_says_so(open_page, read, place):
    shown = read(open_page("unit", of=place, serial="UNKNOWN-1"))

    assert "is not in the register: only its 1 return is known" in shown
    assert "No file holds it yet." in shown


def test_a_unit_that_is_not_there_is_told_in_words(open_page, read, place):
    assert "There is no unit U/NONE" in read(
        open_page("unit", of=place, serial="u/none")
    )


def test_the_list_counts_and_links_each_return(open_page, read, table_with, place):
    page = open_page("cases", of=place)

    assert (
        "5 returns of 5 units, received from 2025-06-01 to 2025-12-20: "
        "3 with a confirmed mode, 2 open." in read(page)
    )
    table = table_with(page, "link", "label", "severity")
    assert table["link"].iloc[0] == "case?case_id=R%2F1%20%26%202%3F"
    assert table["unit"].iloc[0] == "unit?serial=U%2F001"
    assert table["label"].iloc[0] == "open"
    assert set(table["severity"]) == {
        *("critical", "degraded", "no failure of the unit"),
        "-",  # of open returns
    }


def test_the_list_is_that_of_the_filters_in_the_address(open_page, read, place):
    page = open_page("cases", of=place, mode=["fuse_open"])

    assert "1 return of 1 unit" in read(page)
    assert "/api/v1/cases?mode=fuse_open" in read(page)


def test_a_list_that_the_filters_leave_empty_says_so(open_page, read, place):
    shown = read(open_page("cases", of=place, model=["None such"]))

    assert "No return is left under these filters." in shown


def test_a_return_is_opened_by_its_number(open_page, place):
    page = open_page("cases", of=place)

    page.text_input[0].input(" R2 ").run()

    assert links(page)["Open the return R2"] == ("case", "case_id=R2")


def test_what_was_corrected_stands_as_versions_and_newer_readings_wait(
    open_page, read, table_with, tmp_path
):
    place = Place(tmp_path)
    published(tmp_path, [unit("U1X")], [case("R1", "U1X")])
    files = [
        write_rows(tmp_path / "b.csv", [case("R1", "U1X", confirmed_mode="fuse_open")]),
        write_rows(tmp_path / "c.csv", [reading("R1", "proved_dead", outcome="pass")]),
    ]
    ingest_paths(place.store, files)

    page = open_page("case", of=place, case_id="R1")

    assert "2 versions stored, oldest first" in read(page)
    versions = table_with(page, "batch", "changed")
    assert versions["changed"].tolist()[-1] == "confirmed_mode"
    readings = table_with(page, "label", "verdict")
    assert readings["verdict"].tolist() == ["not judged yet"]

    publish(place.store, place.published, as_of=AS_OF)
    page = open_page("case", of=place, case_id="R1")
    assert table_with(page, "label", "verdict")["verdict"].tolist() == ["pass"]
