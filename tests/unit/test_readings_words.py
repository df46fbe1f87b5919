"""What is refused as a reading, and what a judged one means in words."""

import math

import pytest

from analytics.advice.readings import evaluate_reading, expected_window, limit_of
from ingest.catalogue import checks


def judged(check, value, unit=None, *, stage="diagnosis", **context):
    return evaluate_reading(check, value, unit, stage=stage, context=context)


WRONG = [
    ("fuse_continuity", 1, "V", "fuse_continuity is measured in ohm: 'V'"),
    ("fuse_continuity", 1, "volts", "'volts' is not known"),
    ("fuse_continuity", 1, None, "fuse_continuity needs a unit, ohm"),
    ("fuse_continuity", "about 1", "ohm", "neither a number, nor beyond"),
    ("fuse_continuity", "nan", "ohm", "no measured value"),
    ("fuse_continuity", "pass", "ohm", "is an outcome and takes no unit"),
    ("visual_inspection", 1, "ohm", "takes pass, fail or not_done and no number"),
    ("colour", 1, "ohm", "no check is called 'colour'"),
]


@pytest.mark.parametrize(("check", "value", "unit", "sentence"), WRONG)
def test_what_is_no_reading_is_refused_with_a_sentence(check, value, unit, sentence):
    with pytest.raises(ValueError, match=sentence):
        judged(check, value, unit)


def test_a_check_of_the_other_connector_is_refused():
    with pytest.raises(ValueError, match="type_2 only; this unit has type_1"):
        judged("cable_coding", 220, "ohm", connector="type_1")


@pytest.mark.parametrize(
    ("context", "sentence"),
    [
        ({"connector": "type_9"}, "connector must be one of type_1, type_2"),
        ({"cable_length_m": "long"}, "cable_length_m must be a number"),
        ({"earth_area_mm2": 0}, "earth_area_mm2 must be a number above 0"),
    ],
)
def test_an_impossible_fact_about_the_unit_is_refused(context, sentence):
    with pytest.raises(ValueError, match=sentence):
        judged("earth_continuity", 0.1, "ohm", **context)


@pytest.mark.parametrize(
    ("devices", "sentence"), [("ccid7", "not 'ccid7'"), (5, "a list of codes")]
)
def test_an_unknown_ground_fault_device_is_refused(devices, sentence):
    with pytest.raises(ValueError, match=sentence):
        judged("ground_fault_trip_current", 5, "mA", ground_fault_device=devices)


def test_a_stage_that_does_not_exist_is_refused():
    with pytest.raises(ValueError, match="stage must be one of on_site"):
        judged("fuse_continuity", 1, "ohm", stage="later")


def test_not_recorded_may_come_as_none_nan_or_empty():
    for nothing in (None, math.nan, ""):
        found = judged("earth_continuity", 0.1, "ohm", earth_area_mm2=nothing)
        assert "earth area not recorded" in found.meaning


MEANINGS = [
    ("contactor_open", 0.2, "ohm", {}, "The pole is welded"),
    ("contactor_open", 0.2, "ohm", {}, "No mains on this unit"),
    ("contact_resistance", 3, "mohm", {}, "watch it"),
    ("pilot_voltage_handle", 11, "V", {}, "leak of 11 000 ohm"),
    ("pilot_voltage_state_c", 7.2, "V", {}, "more in series"),
    ("pilot_voltage_state_b", 6, "V", {}, "second load"),
    ("cable_coding", 500, "ohm", {}, "permanently attached"),
    ("pilot_continuity", 0.5, "ohm", {"condition": "still"}, "Repeat it flexed"),
    ("supply_voltage", 230, "V", {"supply_system": "230"}, "nothing about the supply"),
]


@pytest.mark.parametrize(("check", "value", "unit", "context", "words"), MEANINGS)
def test_meaning_says_what_the_trade_would_say(check, value, unit, context, words):
    assert words in judged(check, value, unit, **context).meaning


def test_meaning_says_that_a_reading_on_site_opens_no_gate():
    found = judged("earth_continuity", 0.1, "ohm", stage="on_site")
    assert "opens no gate" in found.meaning


@pytest.mark.parametrize(
    ("check", "context", "text"),
    [
        ("pilot_voltage_terminals", {}, "11.4 to 12.6 V"),
        ("insulation_resistance", {}, "at least 1 Mohm"),
        ("contactor_open", {}, "at least 1 000 000 ohm"),
        ("fuse_continuity", {}, "at most 1 ohm"),
        ("dc_trip_current", {}, "above 3 to 6 mA"),
        ("current_reading", {}, "-5 to 5%"),
        ("control_supply_voltage", {}, "no limit: the model's electronics supply"),
        ("latch_operation", {}, "pass: holds and lets go 5 times"),
    ],
)
def test_the_expected_window_is_shown_before_any_reading(check, context, text):
    assert expected_window(check, context).text.startswith(text)


def test_every_check_has_a_window_or_says_why_not():
    for check in checks():
        window = expected_window(check, {})
        assert window.text
        assert window.source
        assert limit_of(check, {}).unit == checks()[check].unit


def test_every_measured_check_can_be_judged_without_knowing_the_unit():
    for check in checks().values():
        if check.unit != "outcome":
            found = judged(check.code, 1, check.unit)
            assert found.outcome in {"pass", "fail", "undefined"}
            assert found.meaning


@pytest.mark.parametrize(
    ("check", "value", "unit", "what"),
    [
        (
            "contactor_open",
            ">2000",
            "ohm",
            "range that shows megohms; it opens no gate",
        ),
        ("earth_continuity", "<2000", "ohm", "Measure again: leads nulled"),
        ("path_resistance", 20, "mohm", "Record what is missing with the unit"),
    ],
)
def test_a_reading_that_is_neither_says_what_to_do(check, value, unit, what):
    found = judged(check, value, unit)
    assert found.outcome == "undefined"
    assert what in found.meaning
