"""Page Bench: case in the address, checks in the session, nothing live early."""

import datetime as dt

import pytest
from fastapi.testclient import TestClient

from dashboard import bench_case, text
from dashboard.api.app import api
from dashboard.queries.suggest import Intake, suggest
from ingest import catalogue

GATE = {code for code, check in catalogue.checks().items() if check.gate}
LABELS = {code: check.label for code, check in catalogue.checks().items()}
LIVE = catalogue.codes("hazards")["live"].label
CASE = {"symptom": ["stops_when_cable_moved", "vehicle_not_detected"]}
MOST_CHECKS = 60


def next_check(page):
    """Return the label on the card of the next check."""
    return next(
        m.value.removeprefix("#### ") for m in page.markdown if m.value[:5] == "#### "
    )


def on_card(page, outcome):
    """Return the button of the next check with that outcome."""
    start = f"suggest_{outcome}_"
    return next(b for b in page.button if (b.key or "").startswith(start))


def do_all_dead_checks(page, *, without=None):
    """Pass every check offered, until a live one or the one left out comes."""
    for _ in range(MOST_CHECKS):
        if next_check(page) == LABELS.get(without) or is_live(page):
            return
        on_card(page, "pass").click().run()
        assert not page.exception


def is_live(page):
    return f"**Hazard: {LIVE}.**" in "\n".join(m.value for m in page.markdown)


def test_page_route_and_query_give_the_same_suspects(open_page, read, snapshot, place):
    page = open_page("suggest", **CASE)
    route = TestClient(api).get("/suggest", params=CASE).json()
    answer = suggest(snapshot, Intake.of(CASE), settings=place.settings())

    assert route == answer.document()
    shown = read(page)
    for row in answer.rows:
        assert f"**{row['label']}**" in shown
        assert f"{100 * row['probability']:.0f} %" in shown
    assert next_check(page) == answer.more["checks"][0]["label"]


def test_every_symptom_stands_in_one_place_where_it_is_felt():
    placed = [code for codes in bench_case.FELT.values() for code in codes]

    assert len(placed) == len(set(placed))
    assert set(placed) == set(catalogue.codes("symptoms")) - {"none_reported"}


def test_the_caution_is_always_there(open_page):
    for words in ({}, CASE):
        page = open_page("suggest", **words)

        assert [w.value for w in page.warning] == [text.CAUTION]


def test_without_evidence_the_page_says_so_and_draws_no_chart(open_page, read):
    page = open_page("suggest")

    assert "Too little is known to name a likely fault" in read(page)
    assert not page.get("vega_lite_chart")


def test_a_symptom_answered_no_leaves_the_reported_ones(open_page):
    page = open_page("suggest", **CASE)
    row = page.button_group(key="suggest_not_symptom_Charging")

    row.set_value(["vehicle_not_detected", "charge_stops_early"]).run()

    assert page.query_params["symptom"] == "stops_when_cable_moved"
    assert set(page.query_params["not_symptom"]) == {
        "vehicle_not_detected",
        "charge_stops_early",
    }
    assert page.button_group(key="suggest_symptom_Charging").value == []


def test_a_symptom_reported_leaves_those_answered_no(open_page):
    page = open_page("suggest", not_symptom=["handle_hot", "breaker_trips"])

    page.button_group(key="suggest_symptom_Handle and cable").set_value(
        ["handle_hot"]
    ).run()

    assert page.query_params["symptom"] == "handle_hot"
    assert page.query_params["not_symptom"] == "breaker_trips"


def test_a_question_answered_goes_into_the_case(open_page):
    page = open_page("suggest", **CASE)
    ask = next(b for b in page.button if b.key.startswith("suggest_ask_not_symptom_"))
    code = ask.key.removeprefix("suggest_ask_not_symptom_")

    ask.click().run()

    assert page.query_params["not_symptom"] == code
    assert not [b for b in page.button if b.key.endswith(f"symptom_{code}")]


def test_all_that_is_known_of_the_case_is_in_the_address(open_page):
    page = open_page("suggest")

    page.selectbox(key="suggest_connector").set_value("type_2").run()
    page.selectbox(key="suggest_environment").set_value("coastal").run()
    page.number_input(key="suggest_age_days").set_value(400).run()
    page.button_group(key="suggest_finding").set_value(["pin_corrosion"]).run()
    page.multiselect(key="suggest_error_word").set_value(["GroundFailure"]).run()
    page.text_area(key="suggest_text").set_value("stops in the rain").run()

    assert not page.exception
    assert page.query_params == {
        "connector": "type_2",
        "environment": "coastal",
        "age_days": "400",
        "finding": "pin_corrosion",
        "error_word": "GroundFailure",
        "text": "stops in the rain",
    }
    address = next(m.value for m in page.markdown if "This page as data" in m.value)
    assert "connector=type_2&" in address.replace("amp;", "")


def test_a_case_read_from_the_address_is_shown_in_its_fields(open_page):
    page = open_page("suggest", model="Model Unknown", age_days="12", text="dead")

    assert page.selectbox(key="suggest_model").value == "Model Unknown"
    assert page.number_input(key="suggest_age_days").value == 12
    assert page.text_area(key="suggest_text").value == "dead"


def test_a_symptom_that_is_not_known_is_told(open_page, read):
    shown = read(open_page("suggest", symptom=["handle_hott"]))

    assert "the nearest is handle_hot" in shown


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
    page.text_input(key="suggest_point_earth_continuity").set_value("handle").run()

    page.text_input(key="suggest_value_earth_continuity").set_value("9,5 ohm").run()

    assert not page.exception
    assert f"{LABELS['earth_continuity']} at handle: 9.5 ohm, **failed**" in read(page)


def test_a_value_without_a_unit_is_in_the_unit_of_the_field(open_page, read):
    page = measuring(open_page)

    page.text_input(key="suggest_value_earth_continuity").set_value("9").run()

    unit = catalogue.checks()["earth_continuity"].unit
    assert f"{LABELS['earth_continuity']}: 9 {unit}," in read(page)


def test_a_value_that_is_no_value_is_told_and_not_noted(open_page, read):
    page = measuring(open_page)
    field = page.text_input(key="suggest_value_earth_continuity")

    field.set_value("a lot").run()

    assert "is not CHECK[@POINT]=VALUE[UNIT]" in read(page)
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


def test_with_every_symptom_answered_there_is_nothing_to_ask(open_page, read):
    answered = [c for c in catalogue.codes("symptoms") if c != "handle_hot"]

    page = open_page("suggest", symptom=["handle_hot"], not_symptom=answered[:-1])

    assert "What else to ask" not in read(page)


def test_an_age_of_no_days_is_an_age_and_not_unknown(open_page):
    page = open_page("suggest")

    page.number_input(key="suggest_age_days").set_value(0).run()

    assert page.query_params["age_days"] == "0"
    assert page.number_input(key="suggest_age_days").value == 0


def test_reasons_speak_in_labels_and_not_in_codes(open_page, read):
    shown = read(open_page("suggest", environment="coastal", **CASE))

    why = [line for line in shown.splitlines() if "Why: " in line]
    assert why
    assert not [line for line in why if "_" in line]
