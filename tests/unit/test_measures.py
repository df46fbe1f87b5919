"""Units of measure against their definitions.

SI prefixes: BIPM, SI Brochure, 9th edition, table 7 (milli 1e-3, kilo 1e3, mega
1e6, micro 1e-6). Degree Celsius: t/degC = T/K - 273.15 (same, 2.3.1). Degree
Fahrenheit: 32 degF is 0 degC, 212 degF is 100 degC; -40 is the same on both.
"""

from decimal import Decimal

import pytest

from ingest.catalogue import checks
from ingest.measures import (
    FIELD_UNITS,
    UnknownUnitError,
    convert,
    convertible_units,
    field_unit_symbol,
    to_field_unit,
)
from ingest.records import KINDS


@pytest.mark.parametrize(
    ("value", "unit", "to", "expected"),
    [
        ("1200", "mV", "V", "1.2"),
        ("1", "mohm", "ohm", "0.001"),
        ("1", "Mohm", "ohm", "1000000"),
        ("1", "Mohm", "mohm", "1000000000"),
        ("0.3", "ohm", "mohm", "300"),
        ("4.7", "kohm", "ohm", "4700"),
        ("2500", "uA", "mA", "2.5"),
        ("0.006", "A", "mA", "6"),
        ("0.3", "s", "ms", "300"),
        ("1", "kHz", "Hz", "1000"),
        ("53.33", "%", "%", "53.33"),
    ],
)
def test_a_prefix_of_the_si_moves_the_point_and_nothing_else(value, unit, to, expected):
    assert convert(Decimal(value), unit, to) == Decimal(expected)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("mΩ", "mohm"),
        ("\u2126", "ohm"),
        ("Ω", "ohm"),
        ("kΩ", "kohm"),
        ("MΩ", "Mohm"),
        ("µA", "uA"),
        ("\u03bcA", "uA"),
        ("\u2103", "°C"),
        (" V ", "V"),
    ],
)
def test_signs_of_instruments_mean_the_same_as_words(written, meant):
    assert convert(Decimal("7.1"), written, meant) == Decimal("7.1")


def test_a_small_m_and_a_capital_m_are_a_thousand_million_apart():
    assert convert(Decimal(1), "Mohm", "ohm") == 10**9 * convert(
        Decimal(1), "mohm", "ohm"
    )


@pytest.mark.parametrize(
    ("value", "unit", "to", "expected"),
    [
        ("212", "°F", "°C", "100"),
        ("32", "°F", "°C", "0"),
        ("-40", "°C", "°F", "-40"),
        ("293.15", "K", "°C", "20"),
        ("300", "K", "°F", "80.33"),
    ],
)
def test_a_temperature_shifts_with_its_zero(value, unit, to, expected):
    assert convert(Decimal(value), unit, to) == Decimal(expected)


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [("50", "°C", "50"), ("90", "°F", "50"), ("3", "K", "3"), ("-5.4", "°F", "-3")],
)
def test_a_rise_asked_for_in_kelvin_is_a_difference(value, unit, expected):
    assert convert(Decimal(value), unit, "K") == Decimal(expected)


def test_the_caller_may_say_which_of_the_two_a_temperature_is():
    assert convert(Decimal(20), "°C", "K", difference=False) == Decimal("293.15")
    assert convert(Decimal(9), "°F", "°C", difference=True) == Decimal(5)
    assert convert(Decimal(5), "K", "°F", difference=True) == Decimal(9)


def test_a_reading_with_forty_digits_is_not_rounded():
    digits = "1." + "0123456789" * 4
    assert convert(convert(Decimal(digits), "V", "mV"), "mV", "V") == Decimal(digits)


def test_an_unknown_unit_is_named_with_the_known_ones():
    with pytest.raises(UnknownUnitError, match=r"'volts' is not known; known are mV"):
        convert(Decimal(1), "volts", "V")


def test_a_unit_of_another_kind_is_refused_with_the_units_that_fit():
    with pytest.raises(UnknownUnitError, match=r"'V' cannot .* 'ohm'.* mohm or ohm"):
        convert(Decimal(1), "V", "ohm")


def test_every_unit_of_a_check_but_outcome_can_be_converted():
    for check in checks().values():
        if check.unit != "outcome":
            assert check.unit in convertible_units(check.unit)


def test_units_of_one_kind_are_listed_together():
    assert convertible_units("mΩ") == ("mohm", "ohm", "kohm", "Mohm")
    assert convertible_units("K") == ("°C", "K", "°F")


@pytest.mark.parametrize(
    ("value", "unit", "field", "expected"),
    [
        # NIST SP 811, appendix B.8 (from memory): inch 2.54 E-02 m, foot 3.048 E-01 m,
        # both exact.
        ("1", "in", "cable_length_m", "0.0254"),
        ("1", "ft", "cable_length_m", "0.3048"),
        ("25", "Feet", "cable_length_m", "7.62"),
        ("750", "CM", "cable_length_m", "7.5"),
        # The same: kilowatt hour 3.6 E+06 J, exact.
        ("3.6", "MJ", "energy_kwh", "1"),
        ("3600000", "J", "energy_kwh", "1"),
        ("7200", "kJ", "energy_kwh", "2"),
        ("1500", "Wh", "energy_kwh", "1.5"),
        ("0.5", "MWh", "energy_kwh", "500"),
        # The same: t/degC = (t/degF - 32)/1.8, t/degC = T/K - 273.15.
        ("68", "°F", "ambient_c", "20"),
        ("293.15", "K", "ambient_c", "20"),
        ("-40", "F", "ambient_c", "-40"),
        ("0.06", "cm²", "conductor_area_mm2", "6"),
        ("32000", "mA", "rated_current_a", "32"),
        ("1.5", "h", "labour_minutes", "90"),
        ("90", "min", "connected_hours", "1.5"),
        ("45", "s", "minutes", "0.75"),
        ("2", "years", "warranty_months", "24"),
    ],
)
def test_a_column_is_turned_into_the_unit_of_its_field(value, unit, field, expected):
    assert to_field_unit(Decimal(value), unit, field) == Decimal(expected)


def test_every_field_that_names_a_unit_is_kept_in_it():
    fields = {name for spec in KINDS.values() for name in spec.fields}
    ends = ("_m", "_mm2", "_a", "_c", "_kwh", "_hours", "_minutes", "_months")

    assert {name for name in fields if name.endswith(ends)} | {"minutes"} == set(
        FIELD_UNITS
    )
    for field, unit in FIELD_UNITS.items():
        assert field_unit_symbol(unit, field) == unit


@pytest.mark.parametrize(
    ("unit", "field", "words"),
    [
        ("AWG", "conductor_area_mm2", "the unit must be mm2 or cm2"),
        ("h", "cable_length_m", "the unit must be mm or cm or m or in or ft"),
        ("mwh", "energy_kwh", "the unit must be J or kJ or MJ or Wh or kWh or MWh"),
        ("m", "serial", "serial is not kept in a unit, got 'm'"),
    ],
)
def test_a_unit_that_does_not_fit_the_field_is_refused(unit, field, words):
    with pytest.raises(UnknownUnitError, match=words):
        to_field_unit(Decimal(1), unit, field)


@pytest.mark.parametrize("unit", ["h", "min", "ft", "kWh", "mm2"])
def test_a_reading_of_the_bench_takes_no_unit_of_a_column(unit):
    with pytest.raises(UnknownUnitError, match="is not known"):
        convert(Decimal(1), unit, "ms")
