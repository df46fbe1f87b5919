"""Page Bench: warranty and earlier returns of the unit, as its own page states them."""

import pytest
import streamlit as st

from dashboard.page_parts import bench_unit
from dashboard.settings import Place
from tests.small_fleet import case, published, unit


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """Return figures of a unit that came back five times, and of others."""
    place = Place(tmp_path_factory.mktemp("bench"))
    units = [
        unit("OFTEN-1", warranty_months=24),
        unit("NEVER-1"),
        unit("ONCE-1", warranty_months=6),
    ]
    cases = [
        case(f"R{n}", "OFTEN-1", received_on=f"2025-0{n}-01", closed_on=f"2025-0{n}-09")
        for n in range(1, 5)
    ]
    cases.append(case("R/5", "OFTEN-1", received_on="2025-12-20"))
    cases[3] |= {"confirmed_mode": "fuse_open", "confirmed_on": "2025-04-05"}
    cases.append(case("R6", "ONCE-1"))
    cases.append(case("R7", "STRANGER-1"))
    published(place.data, units, cases)
    return place


@pytest.fixture(autouse=True)
def nothing_remembered():
    st.cache_data.clear()


def links(page):
    found = [link.proto for link in page.get("page_link")]
    return [
        (link.label.removesuffix(" →").replace("\\", ""), link.query_string)
        for link in found
    ]


@pytest.mark.parametrize("serial", ["OFTEN-1", "NEVER-1", "ONCE-1"])
def test_the_warranty_is_that_of_the_page_of_the_unit(open_page, read, place, serial):
    own = read(open_page("unit", of=place, serial=serial))
    sentence = next(
        line[line.index(start) :]
        for line in own.splitlines()
        for start in ("Its warranty until", "The end of its warranty")
        if start in line
    )

    bench = read(open_page("suggest", of=place, serial=serial))

    assert sentence.strip("* ") in bench


def test_the_newest_returns_are_linked_and_the_rest_are_on_the_unit_s_page(
    open_page, read, place
):
    page = open_page("suggest", of=place, serial="often-1")

    shown = read(page)
    assert "5 returns on record, the newest first:" in shown
    assert "received 2025-12-20: nothing confirmed" in shown
    assert "received 2025-04-01: Fuse open" in shown
    assert links(page) == [
        ("R/5", "case_id=R%2F5"),
        ("R4", "case_id=R4"),
        ("R3", "case_id=R3"),
        ("2 more of this unit", "serial=OFTEN-1"),
    ]


def test_a_unit_that_never_came_back_has_no_return_on_record(open_page, read, place):
    page = open_page("suggest", of=place, serial="NEVER-1")

    assert "No return is on record." in read(page)
    assert links(page) == []


def test_a_unit_outside_the_register_still_shows_its_returns(open_page, read, place):
    page = open_page("suggest", of=place, serial="STRANGER-1")

    assert "hold no unit STRANGER-1" in read(page)
    assert links(page) == [("R7", "case_id=R7")]


@pytest.mark.parametrize("words", [{}, {"serial": "NOT-THERE-1"}])
def test_without_a_unit_that_is_known_nothing_is_said_of_returns(
    open_page, read, place, words
):
    assert "on record, the newest" not in read(open_page("suggest", of=place, **words))


def test_without_a_store_the_bench_goes_on_and_says_what_is_missing(
    open_page, read, place, tmp_path, monkeypatch
):
    gone = Place(tmp_path / "gone")
    monkeypatch.setattr(bench_unit, "place_in_use", lambda: gone)

    page = open_page("suggest", of=place, serial="OFTEN-1")

    assert "Its returns cannot be shown now." in read(page)
    assert links(page) == []
    assert [b for b in page.button if (b.key or "").startswith("suggest_pass_")]
