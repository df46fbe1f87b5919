"""Page Bench: the unit by its serial, what keeps mains off, and states of a check."""

import datetime as dt

import pytest
from typer.testing import CliRunner

from dashboard.cli.main import cli
from dashboard.filters import Filters
from dashboard.queries.listings import units
from dashboard.queries.suggest import Intake, suggest
from dashboard.queries.suggest_reasons import reason_words
from ingest import catalogue
from tests.bench_page import CASE, GATE, LIVE, on_card

WATER = catalogue.codes("findings")["water_inside"].label


@pytest.fixture
def serial(snapshot):
    """Return the serial of a unit of type 2."""
    rows = units(snapshot, Filters(connector=("type_2",))).rows
    return rows[0]["serial"]


def note(page, readings):
    page.session_state["suggest_readings_noted"] = readings
    page.session_state["suggest_readings_day"] = dt.datetime.now(tz=dt.UTC).date()
    page.run()
    assert not page.exception


def test_a_serial_typed_stands_in_the_address_and_shows_its_record(
    open_page, read, serial
):
    page = open_page("suggest")
    page.text_input(key="suggest_serial").set_value(serial.lower()).run()

    assert not page.exception
    assert page.query_params["serial"] == serial.lower()
    shown = read(page)
    assert f"those of unit {serial} as on record" in shown
    assert "connector type_2" in shown


def test_a_serial_that_is_not_known_is_told_and_the_advice_goes_on(open_page, read):
    page = open_page("suggest", serial="NO-SUCH-UNIT")

    assert "hold no unit NO-SUCH-UNIT: check the serial" in read(page)
    assert on_card(page, "pass")


def test_another_serial_ends_the_checks_of_the_unit_before(open_page, read, serial):
    page = open_page("suggest", **CASE)
    on_card(page, "pass").click().run()

    page.text_input(key="suggest_serial").set_value(serial).run()

    assert "The unit changed: the checks noted so far no longer count" in read(page)
    assert "Checks noted" not in read(page)


def test_whether_it_was_opened_before_goes_into_the_case(open_page):
    page = open_page("suggest", **CASE)

    page.selectbox(key="suggest_opened_before_arrival").set_value("yes").run()

    assert not page.exception
    assert page.query_params["opened_before_arrival"] == "yes"


def test_page_command_and_route_say_alike_why_mains_are_off(
    open_page, read, snapshot, place
):
    words = CASE | {"finding": ["water_inside"]}
    answer = suggest(snapshot, Intake.of(words), settings=place.settings())

    page = read(open_page("suggest", **words))
    asked = [part for code in CASE["symptom"] for part in ("--symptom", code)]
    command = (
        CliRunner()
        .invoke(
            cli,
            ["--data", str(place.data), "suggest", *asked, "--finding", "water_inside"],
        )
        .stdout
    )

    left = [row["why"] for row in answer.more["gate"]]
    assert len(left) == len(GATE)
    for why in left:
        assert why in page
        assert why in command
    for row in answer.rows:
        for reason in row["reasons"]:
            assert reason_words(reason) in command
    assert "No live check is offered" in page
    assert "No live check is offered" in command


def test_a_dangerous_finding_waits_until_it_is_noted_as_seen_to(open_page, read):
    page = open_page("suggest", finding=["water_inside"], connector="type_2")
    # Nothing can be seen to on a unit that is not proved dead.
    assert not [b for b in page.button if "seen_to" in (b.key or "")]

    note(page, [*(f"{code}=pass" for code in GATE), "proved_dead=pass"])
    assert LIVE not in set(page.table[0].value["hazard"])
    assert "no mains until it is" in read(page)

    page.button(key="suggest_seen_to_water_inside").click().run()

    assert not page.exception
    shown = read(page)
    assert "Every gate check has passed and the unit was proved dead" in shown
    assert f"at {WATER}" in shown
    assert not [b for b in page.button if "seen_to" in (b.key or "")]


def test_a_finding_cannot_be_seen_to_while_the_unit_may_be_powered(open_page):
    page = open_page("suggest", finding=["water_inside"], connector="type_2")
    note(page, ["proved_dead=pass", "pilot_voltage_terminals=12V"])

    assert not [b for b in page.button if "seen_to" in (b.key or "")]


def test_a_value_is_noted_in_the_state_chosen(open_page, read):
    page = open_page("suggest", connector="type_1", **CASE)
    note(page, ["proved_dead=pass"])
    page.selectbox(key="suggest_condition_pilot_continuity").set_value("flexed").run()

    page.text_input(key="suggest_value_pilot_continuity").set_value("OL").run()

    assert not page.exception
    assert page.session_state["suggest_readings_noted"][-1] == (
        "pilot_continuity~flexed=OL"
    )
    assert "flexed: OL" in read(page)


def test_points_still_to_measure_are_on_the_card_and_in_the_reasons(open_page, read):
    page = open_page("suggest", symptom=["earth_fault_shown"], connector="type_2")
    note(page, ["proved_dead=pass"])
    first = read(page)

    note(page, ["proved_dead=pass", "earth_continuity@handle=0.05ohm"])

    assert "**Still to measure on this unit:**" in first
    assert "points missing: metal" in read(page)


def test_an_undefined_reading_says_what_to_do_on_the_page(open_page, read):
    page = open_page("suggest", **CASE)

    note(page, ["proved_dead=pass", "contactor_open@L1=>2000ohm"])

    assert "a range that shows megohms" in read(page)


def test_suspects_show_once_a_reading_tells_enough(open_page, read):
    page = open_page("suggest")
    assert "Too little to say: do the intake checks." in read(page)

    note(page, ["proved_dead=pass", "pilot_continuity=OLohm"])

    shown = read(page)
    assert "Too little to say" not in shown
    assert "The checks noted moved the shares" in shown
    assert f"{catalogue.checks()['pilot_continuity'].label} failed" in shown
