"""Values beyond the range, outcome words, and the chance that a reading fails."""

import math
from decimal import Decimal

import pytest

from analytics.advice.readings import evaluate_reading


def judged(check, value, unit=None):
    return evaluate_reading(check, value, unit, stage="diagnosis", context={})


@pytest.mark.parametrize(
    ("check", "shown", "unit", "outcome"),
    [
        ("insulation_resistance", ">2000", "Mohm", "pass"),
        ("insulation_resistance", ">0.5", "Mohm", "undefined"),
        ("pilot_continuity", "OL", "ohm", "fail"),
        ("pilot_continuity", "> 1", "ohm", "fail"),
        ("pilot_continuity", "<0.1", "ohm", "pass"),
        ("pilot_continuity", "≤ 2", "ohm", "undefined"),
        ("proximity_latch_at_rest", "OL", "kohm", "fail"),
        ("temperature_sensor_offset", "-OL", "K", "fail"),
        ("dc_trip_time", math.inf, "ms", "fail"),
    ],
)
def test_a_value_beyond_the_range_is_judged_by_its_bound(check, shown, unit, outcome):
    assert judged(check, shown, unit).outcome == outcome


def test_a_value_beyond_the_range_keeps_its_text_in_the_meaning():
    assert judged("pilot_continuity", "OL", "ohm").meaning.startswith(
        "OL ohm is outside"
    )


@pytest.mark.parametrize(
    ("word", "chance"), [("pass", 0.0), ("fail", 1.0), ("not_done", math.nan)]
)
def test_an_outcome_word_stands_for_itself(word, chance):
    found = judged("visual_inspection", word)
    assert found.outcome == word
    assert found.value is None
    assert found.probability_of_fail == pytest.approx(chance, nan_ok=True)


def test_a_word_may_stand_for_a_measured_check_too():
    assert judged("earth_continuity", "pass").outcome == "pass"


def test_near_the_limit_the_chance_to_fail_is_a_half_and_far_from_it_none_or_sure():
    assert judged("fuse_continuity", 1, "ohm").probability_of_fail == pytest.approx(0.5)
    assert judged("fuse_continuity", 0.1, "ohm").probability_of_fail < 1e-9
    assert judged("fuse_continuity", 3, "ohm").probability_of_fail > 1 - 1e-9


def test_a_contactor_pole_is_uncertain_about_welded_and_not_about_good():
    assert judged("contactor_open", 9.9, "ohm").probability_of_fail > 0.5
    assert judged("contactor_open", 1_000_000, "ohm").probability_of_fail == 0.0


def test_decimal_and_text_are_the_same_number():
    texts = ("0.25", Decimal("0.25"), 0.25)
    assert {judged("fuse_continuity", v, "ohm").value for v in texts} == {0.25}


@pytest.mark.parametrize(
    ("check", "shown", "unit", "outcome"),
    [
        ("earth_continuity", -5, "ohm", "undefined"),
        ("earth_continuity", "-OL", "ohm", "undefined"),
        ("earth_continuity", "<-3", "ohm", "undefined"),
        ("earth_continuity", -0.005, "ohm", "pass"),
        ("earth_continuity", "<0.1", "ohm", "pass"),
        ("contact_resistance", -2, "mohm", "undefined"),
        ("contactor_open", -5, "ohm", "fail"),
        ("insulation_resistance", -5, "Mohm", "fail"),
    ],
)
def test_a_reading_below_zero_where_nothing_can_be_never_passes(
    check, shown, unit, outcome
):
    judged = evaluate_reading(check, shown, unit, stage="diagnosis", context={})
    assert judged.outcome == outcome


@pytest.mark.parametrize(
    ("point", "volts", "outcome"),
    [
        ("L1-PE", 400, "undefined"),
        ("L1-PE", 230, "undefined"),
        ("N-PE", 0, "undefined"),
        ("L1 - N", 230, "pass"),
        ("L1 - L2", 400, "pass"),
    ],
)
def test_supply_to_earth_is_never_taken_for_line_to_line(point, volts, outcome):
    context = {"supply_system": "230_400", "point": point}
    judged = evaluate_reading(
        "supply_voltage", volts, "V", stage="on_site", context=context
    )
    assert judged.outcome == outcome
