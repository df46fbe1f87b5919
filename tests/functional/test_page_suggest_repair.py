"""Page Bench: after a repair, what no reading can say, and nothing found."""

import datetime as dt

import pytest

from dashboard.queries.suggest import Intake, suggest
from ingest import catalogue
from tests.bench_page import CASE, GATE, LABELS, LIVE, is_live, next_check, on_card

TYPE_2 = CASE | {"connector": "type_2"}
SOFT = ["proved_dead=pass", "contactor_close@L1=9mohm", "contactor_close@N=2mohm"]
ASKED = "terminals tight"
ELSEWHERE = "the vehicle fails on another good charger"


def note(page, readings):
    page.session_state["suggest_readings_noted"] = readings
    page.session_state["suggest_readings_day"] = dt.datetime.now(tz=dt.UTC).date()
    page.run()
    assert not page.exception
    return page


def repair(page, mode="handle_pilot_open", disposition="repaired"):
    page.selectbox(key="suggest_repaired_mode").set_value(mode).run()
    page.selectbox(key="suggest_repaired_how").set_value(disposition).run()
    page.button(key="suggest_repaired").click().run()
    assert not page.exception
    return page


def listed(page):
    return {row["must pass"]: row["state"] for _, row in page.table[0].value.iterrows()}


def test_a_repair_is_not_told_before_mode_and_what_was_done_are_chosen(open_page):
    page = open_page("suggest", **TYPE_2)

    assert page.button(key="suggest_repaired").disabled

    page.selectbox(key="suggest_repaired_mode").set_value("fuse_open").run()
    assert page.button(key="suggest_repaired").disabled


def test_the_confirmed_fault_is_offered_first(open_page):
    page = open_page("suggest", **TYPE_2)
    note(page, ["proved_dead=pass", "fuse_continuity=OLohm"])

    offered = page.selectbox(key="suggest_repaired_mode").options

    label = catalogue.failure_modes()["fuse_open"].label
    assert offered[0] == f"{label}, confirmed"
    assert len(offered) == len(catalogue.failure_modes())


def test_after_a_repair_the_gate_is_shut_and_what_must_pass_is_listed(open_page, read):
    page = note(open_page("suggest", **TYPE_2), [f"{code}=pass" for code in GATE])
    assert LIVE in set(page.table[0].value["hazard"])

    repair(page)

    assert next_check(page) == LABELS["proved_dead"]
    assert not is_live(page)
    states = listed(page)
    assert {LABELS[code] for code in GATE} < set(states)
    assert set(states.values()) == {"not done"}
    shown = read(page)
    assert "0 of " in shown
    assert "checks that must pass before the unit goes back" in shown
    assert "No live check is offered" in shown
    # What was asked of the fault is not asked of the way back.
    assert "What else to ask" not in shown


def test_checks_after_the_repair_count_by_themselves(open_page, read):
    page = note(open_page("suggest", **TYPE_2), [f"{code}=pass" for code in GATE])
    repair(page)

    on_card(page, "pass").click().run()

    assert page.session_state["suggest_readings_after"] == ["proved_dead=pass"]
    assert len(page.session_state["suggest_readings_noted"]) == len(GATE)
    assert listed(page)[LABELS["proved_dead"]] == "passed"
    assert next_check(page) != LABELS["proved_dead"]
    page.button(key="suggest_take_back").click().run()
    assert listed(page)[LABELS["proved_dead"]] == "not done"
    # What was noted before the repair cannot be brought back by taking back.
    assert page.button(key="suggest_take_back").disabled
    assert "1 of " not in read(page)


def test_live_checks_come_after_the_repair_once_the_gate_has_passed(open_page):
    page = repair(open_page("suggest", **TYPE_2))
    for _ in range(len(GATE)):
        assert not is_live(page)
        on_card(page, "pass").click().run()

    states = listed(page)
    assert all(states[LABELS[code]] == "passed" for code in GATE)
    assert next_check(page) == LABELS["pilot_continuity"]
    on_card(page, "pass").click().run()
    assert is_live(page)


def test_repaired_again_begins_the_list_anew(open_page):
    page = repair(open_page("suggest", **TYPE_2))
    on_card(page, "pass").click().run()

    repair(page, mode="fuse_open", disposition="part_replaced")

    assert page.session_state["suggest_readings_after"] == []
    assert listed(page)[LABELS["fuse_continuity"]] == "not done"
    assert set(listed(page).values()) == {"not done"}


@pytest.mark.parametrize(
    ("change", "value"), [("suggest_connector", "type_1"), ("suggest_serial", "U-7")]
)
def test_another_unit_was_not_repaired(open_page, read, change, value):
    page = repair(open_page("suggest", **TYPE_2))
    field = page.selectbox if change == "suggest_connector" else page.text_input

    field(key=change).set_value(value).run()

    assert "suggest_readings_repair" not in page.session_state
    assert "checks that must pass before the unit goes back" not in read(page)


def test_the_page_shows_what_the_query_gives_after_a_repair(
    open_page, read, snapshot, place
):
    page = repair(open_page("suggest", **TYPE_2))
    words = TYPE_2 | {"mended": "handle_pilot_open", "disposition": "repaired"}

    answer = suggest(snapshot, Intake.of(words), settings=place.settings())

    found = answer.more["after_repair"]
    assert found["words"] in read(page)
    assert list(listed(page)) == [row["label"] for row in found["rows"]]
    assert list(page.table[0].value["because"]) == [row["why"] for row in found["rows"]]


def test_opened_again_asks_for_a_new_proof_and_keeps_what_was_measured(open_page, read):
    page = note(
        open_page("suggest", **TYPE_2), ["proved_dead=pass", "fuse_continuity=OLohm"]
    )
    page = note(page, ["proved_dead=pass", "visual_inspection=pass"])

    page.button(key="suggest_opened_again").click().run()

    assert next_check(page) == LABELS["proved_dead"]
    shown = read(page)
    assert "prove it dead again" in shown
    assert LABELS["visual_inspection"] in shown
    # On a unit that is not proved dead there is no proof to lose.
    assert not [b for b in page.button if b.key == "suggest_opened_again"]


@pytest.mark.parametrize(
    ("word", "says"), [("yes", "is confirmed"), ("no", "does not confirm")]
)
def test_what_no_reading_can_say_is_asked_and_can_be_taken_back(
    open_page, read, word, says
):
    page = note(open_page("suggest", **TYPE_2), SOFT)
    label = catalogue.failure_modes()["contactor_high_resistance"].label
    key = f"suggest_answer_{ASKED}"
    assert f"confirms {label} if: {ASKED}" in read(page)
    assert page.button_group(key=key).value is None

    page.button_group(key=key).set_value(word).run()
    assert says in read(page)
    assert not page.query_params.get("met")

    page.button_group(key=key).set_value(None).run()
    assert f"confirms {label} if: {ASKED}" in read(page)


def test_nothing_found_shows_what_the_protocol_still_asks(open_page, read):
    page = open_page("suggest", **TYPE_2)
    assert "the whole protocol must pass, or a reason is stated" in read(page)

    page.selectbox(key="suggest_claim").set_value("no_fault_found").run()
    shown = read(page)
    assert "may not be said yet" in shown
    assert f"- {LABELS['proved_dead']}" in shown
    assert "To be repeated, for the likeliest faults" in shown

    page.text_input(key="suggest_claim_reason").set_value("sent in error").run()
    assert "for the reason stated, not by the protocol" in read(page)
    assert "claim" not in page.query_params


def test_the_vehicle_is_asked_about_on_another_charger(open_page, read):
    page = open_page("suggest", **TYPE_2)
    page.selectbox(key="suggest_claim").set_value("vehicle_side_fault").run()

    page.button_group(key=f"suggest_answer_{ELSEWHERE}").set_value("no").run()

    assert f"not so: {ELSEWHERE}" in read(page)
    assert page.button_group(key=f"suggest_answer_{ELSEWHERE}").value == "no"


def test_where_along_the_path_it_lies_is_told(open_page, read):
    page = open_page("suggest", **TYPE_2)

    note(
        page,
        ["proved_dead=pass", "pilot_continuity=OLohm", "core_localisation@CP=OLohm"],
    )

    assert "**Where it lies:** The pilot path is bad and so is its core" in read(page)


def test_what_a_further_check_would_tell_is_told_when_chosen(open_page, read):
    page = note(open_page("suggest", **TYPE_2), ["proved_dead=pass"])
    box = page.selectbox(key="suggest_what_if")
    n_before = read(page).count("**If it fails:**")

    box.set_value("fuse_continuity").run()

    assert not page.exception
    assert read(page).count("**If it fails:**") == n_before + 1
    assert "what_if" not in page.query_params


def test_what_belongs_to_the_bench_is_not_taken_from_an_address(open_page, read):
    page = open_page(
        "suggest",
        **TYPE_2,
        mended="fuse_open",
        disposition="repaired",
        after_reading=["proved_dead=pass"],
        met=[ASKED],
        claim="no_fault_found",
    )

    assert not page.exception
    assert set(page.query_params) == {"symptom", "connector"}
    assert "checks that must pass before the unit goes back" not in read(page)


def test_the_current_setting_stands_in_the_address_and_gives_the_window(
    open_page, read
):
    page = open_page("suggest", **TYPE_2)

    page.number_input(key="suggest_current_setting_a").set_value(16.0).run()

    assert not page.exception
    assert page.query_params["current_setting_a"] == "16.0"
    # Duty law of SAE J1772 / IEC 61851-1 Annex A, secondary reading: 16 A is 26.7 %.
    note(page, [*(f"{code}=pass" for code in GATE), "pilot_duty=26.7%"])
    assert f"{LABELS['pilot_duty']}: 26.7 %, **passed**" in read(page)
