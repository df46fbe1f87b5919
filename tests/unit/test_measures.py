"""Conversion of units against definitions.

Prefixes: SI Brochure (BIPM, 9th edition), table 7. Kelvin and Fahrenheit: NIST SP 811
(2008), appendix B: 0 °C = 273.15 K; t/°C = (t/°F - 32) / 1.8. All from memory.
"""

from decimal import Decimal

import pytest

from ingest.measures import (
    UnknownUnitError,
    convert,
    convert_temperature,
    convertible_units,
)


@pytest.mark.parametrize(
    ("value", "unit", "to", "wanted"),
    [
        ("0.35", "kohm", "ohm", "350"),
        ("2", "Mohm", "ohm", "2000000"),
        ("2", "mohm", "ohm", "0.002"),
        ("480", "Ω", "ohm", "480"),
        ("0.0051", "ohm", "mohm", "5.1"),
        ("950", "kohm", "Mohm", "0.95"),
        ("11940", "mV", "V", "11.94"),
        ("350", "µA", "mA", "0.35"),
        ("0.04", "s", "ms", "40"),
        ("1.002", "kHz", "Hz", "1002"),
        ("9", "°F", "K", "5"),
        ("3", "°C", "K", "3"),
        ("26.7", "%", "%", "26.7"),
    ],
)
def test_a_value_converts_exactly(value, unit, to, wanted):
    assert convert(Decimal(value), unit, to) == pytest.approx(Decimal(wanted))


def test_a_thousandth_and_a_million_differ_by_the_case_of_one_letter():
    assert convert(Decimal(1), "Mohm", "mohm") == Decimal(10) ** 9


@pytest.mark.parametrize(
    ("value", "unit", "to", "wanted"),
    [
        ("0", "°C", "K", "273.15"),
        ("212", "°F", "°C", "100"),
        ("-40", "°C", "°F", "-40"),
        ("300", "K", "°C", "26.85"),
    ],
)
def test_a_temperature_converts_with_its_zero(value, unit, to, wanted):
    assert convert_temperature(Decimal(value), unit, to) == Decimal(wanted)


@pytest.mark.parametrize("unit", ["furlong", "MOHM", "V", ""])
def test_a_unit_of_another_quantity_is_refused_by_name(unit):
    with pytest.raises(UnknownUnitError, match="does not convert to ohm; known are"):
        convert(Decimal(1), unit, "ohm")


def test_an_outcome_takes_no_unit():
    with pytest.raises(UnknownUnitError, match="takes no unit"):
        convert(Decimal(1), "ohm", "outcome")
    assert convertible_units("outcome") == ()


def test_a_temperature_in_volts_is_refused():
    with pytest.raises(UnknownUnitError, match="temperatures are in"):
        convert_temperature(Decimal(1), "V", "K")
