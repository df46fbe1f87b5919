"""Page Bench: what is known of the case stands in the address, in the API's words."""

from fastapi.testclient import TestClient

from dashboard import text
from dashboard.api.app import api
from dashboard.page_parts import bench_case
from dashboard.queries.suggest import Intake, suggest
from ingest import catalogue
from tests.bench_page import CASE, next_check


def test_page_route_and_query_give_the_same_suspects(open_page, read, snapshot, place):
    page = open_page("suggest", **CASE)
    route = TestClient(api).get("/suggest", params=CASE).json()
    answer = suggest(snapshot, Intake.of(CASE), settings=place.settings())

    assert route == answer.document()
    shown = read(page)
    for row in answer.rows:
        assert f"**{row['label']}**" in shown
        assert text.share(row["probability"], 1) in shown
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

    assert "Too little to say: do the intake checks" in read(page)
    assert not page.get("vega_lite_chart")
    (folded,) = [e for e in page.expander if e.label == "Shares all the same"]
    assert folded.markdown[0].value.startswith("Too little is known to name a fault")
    assert folded.markdown[1].value.count("like case") == 5


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

    why = [line for line in shown.splitlines() if "Why, against " in line]
    assert why
    assert not [line for line in why if "_" in line]
