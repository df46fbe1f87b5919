"""Page Bench: checks live in the session alone, and nothing live is shown early."""

import datetime as dt

import pytest

from ingest import catalogue
from tests.bench_page import (
    CASE,
    GATE,
    LABELS,
    LIVE,
    MOST_CHECKS,
    do_all_dead_checks,
    is_live,
    next_check,
    on_card,
)


def test_clearing_takes_case_and_checks_off_the_screen(open_page, read):
    page = open_page("suggest", **CASE)
    on_card(page, "pass").click().run()

    page.button(key="suggest_clear").click().run()

    assert not page.query_params
    assert "Checks noted" not in read(page)


def test_nothing_live_is_shown_before_every_gate_check_has_passed(open_page):
    page = open_page("suggest", symptom=["charge_does_not_start"], connector="type_2")
    passed = set()
    for _ in range(MOST_CHECKS):
        shows_live = is_live(page) or LIVE in set(page.table[0].value["hazard"])
        if shows_live:
            break
        button = on_card(page, "pass")
        passed.add(button.key.removeprefix("suggest_pass_"))
        button.click().run()
    assert shows_live
    assert passed >= GATE


@pytest.mark.parametrize("missing", sorted(GATE))
def test_one_gate_check_missing_keeps_every_live_check_away(open_page, missing):
    page = open_page("suggest", symptom=["charge_does_not_start"], connector="type_2")
    noted = [f"{code}=pass" for code in GATE - {missing}]
    page.session_state["suggest_readings_noted"] = noted
    page.session_state["suggest_readings_day"] = dt.datetime.now(tz=dt.UTC).date()
    page.run()

    assert not page.exception
    assert not is_live(page)
    assert LIVE not in set(page.table[0].value["hazard"])


def test_a_failed_check_closes_the_gate_again(open_page):
    page = open_page("suggest", symptom=["charge_does_not_start"], connector="type_2")
    do_all_dead_checks(page)
    assert is_live(page)

    on_card(page, "fail").click().run()

    assert not is_live(page)
    assert LIVE not in set(page.table[0].value["hazard"])


def test_checks_noted_are_never_in_the_address_and_never_stored(open_page, read, place):
    before = {f: f.stat().st_mtime_ns for f in place.data.rglob("*") if f.is_file()}
    page = open_page("suggest", **CASE)

    on_card(page, "pass").click().run()

    assert "**passed**" in read(page)
    assert "reading" not in page.query_params
    assert "reading=" not in read(page)
    after = {f: f.stat().st_mtime_ns for f in place.data.rglob("*") if f.is_file()}
    assert after == before


def test_readings_in_an_address_are_not_taken(open_page, read):
    page = open_page("suggest", reading=["proved_dead=pass"], **CASE)

    assert "Checks noted" not in read(page)
    assert "reading" not in page.query_params


@pytest.mark.parametrize(
    ("key", "value"), [("suggest_connector", "type_1"), ("suggest_model", None)]
)
def test_another_unit_ends_the_checks_of_the_one_before(open_page, read, key, value):
    page = open_page("suggest", connector="type_2")
    on_card(page, "pass").click().run()
    box = page.selectbox(key=key)

    box.set_value(value or box.options[0]).run()

    assert "Checks noted" not in read(page)
    assert "The unit changed: the checks noted so far no longer count" in read(page)


def test_another_day_ends_the_checks(open_page, read):
    page = open_page("suggest", **CASE)
    on_card(page, "pass").click().run()
    page.session_state["suggest_readings_day"] = dt.date(2026, 1, 1)

    page.run()

    assert "Another day began" in read(page)
    assert "Checks noted" not in read(page)


def test_work_on_the_unit_starts_the_checks_over(open_page, read):
    page = open_page("suggest", **CASE)
    on_card(page, "pass").click().run()

    page.button(key="suggest_start_over").click().run()

    assert "Prove dead again" in read(page)
    assert "Checks noted" not in read(page)


def test_the_last_check_noted_can_be_taken_back(open_page):
    page = open_page("suggest", **CASE)
    first = next_check(page)
    on_card(page, "pass").click().run()
    assert next_check(page) != first

    page.button(key="suggest_take_back").click().run()

    assert next_check(page) == first


def measuring(open_page):
    """Return the page with earth continuity, which has a value, on the card."""
    page = open_page("suggest", symptom=["earth_fault_shown"], connector="type_2")
    do_all_dead_checks(page, without="earth_continuity")
    assert next_check(page) == LABELS["earth_continuity"]
    return page


def test_a_value_is_judged_as_soon_as_it_is_entered(open_page, read):
    page = measuring(open_page)
    page.selectbox(key="suggest_point_earth_continuity").set_value("handle").run()

    page.text_input(key="suggest_value_earth_continuity").set_value("9,5 ohm").run()

    assert not page.exception
    assert f"{LABELS['earth_continuity']} at handle: 9.5 ohm, **failed**" in read(page)


def test_the_points_still_to_measure_are_offered_first_and_none_is_chosen(open_page):
    page = measuring(open_page)
    point = page.selectbox(key="suggest_point_earth_continuity")
    assert (point.options, point.value) == (["handle", "metal"], None)
    point.set_value("handle").run()

    page.text_input(key="suggest_value_earth_continuity").set_value("0.05").run()

    point = page.selectbox(key="suggest_point_earth_continuity")
    assert (point.options, point.value) == (["metal", "handle, again"], None)


def test_a_value_without_a_unit_is_in_the_unit_of_the_field(open_page, read):
    page = measuring(open_page)

    page.text_input(key="suggest_value_earth_continuity").set_value("9").run()

    unit = catalogue.checks()["earth_continuity"].unit
    assert f"{LABELS['earth_continuity']}: 9 {unit}," in read(page)


def test_a_value_that_is_no_value_is_told_and_not_noted(open_page, read):
    page = measuring(open_page)
    field = page.text_input(key="suggest_value_earth_continuity")

    field.set_value("a lot").run()

    assert "is not CHECK[@POINT][~CONDITION]=VALUE[UNIT]" in read(page)
    assert next_check(page) == LABELS["earth_continuity"]


def test_a_unit_of_another_quantity_is_told_and_not_noted(open_page, read):
    page = measuring(open_page)
    n_before = read(page).count("**passed**")
    field = page.text_input(key="suggest_value_earth_continuity")

    field.set_value("9 Hz").run()

    assert "It was not noted" in read(page)
    assert read(page).count("**passed**") == n_before
    assert not page.run().error


def test_an_empty_value_notes_nothing(open_page, read):
    page = measuring(open_page)
    before = read(page).count("**passed**")
    page.text_input(key="suggest_value_earth_continuity").set_value("  ").run()

    assert read(page).count("**passed**") == before
    assert not page.exception


def note(page, readings):
    page.session_state["suggest_readings_noted"] = readings
    page.session_state["suggest_readings_day"] = dt.datetime.now(tz=dt.UTC).date()
    page.run()
    assert not page.exception


def test_with_every_check_done_the_page_says_that_none_is_left(open_page, read):
    page = open_page("suggest", **CASE)

    note(page, [f"{code}=not_done" for code in LABELS if code not in GATE])
    assert next_check(page)

    note(page, [f"{code}=pass" for code in LABELS])
    shown = read(page)
    assert ("No check is left to do now" in shown) == (
        not [b for b in page.button if (b.key or "").startswith("suggest_pass_")]
    )


def test_after_a_live_check_the_page_asks_to_prove_dead_again(open_page, read):
    page = open_page("suggest", symptom=["charge_does_not_start"], connector="type_2")
    do_all_dead_checks(page)
    assert "The unit was powered" not in read(page)

    on_card(page, "pass").click().run()
    assert "prove it dead again before anything is touched" in read(page)

    noted = page.session_state["suggest_readings_noted"]
    note(page, [*noted, "proved_dead=fail"])
    assert "The unit was powered" in read(page)

    note(page, [*noted, "proved_dead=pass"])
    assert "The unit was powered" not in read(page)
