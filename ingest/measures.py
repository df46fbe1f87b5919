"""Units of measure on the bench: exact conversion in decimal numbers.

Case counts: `mohm` is a thousandth of an ohm, `Mohm` a million. Prefixes are those
of the SI (BIPM, SI Brochure, 9th edition, table 7); degree Celsius and degree
Fahrenheit are defined from the kelvin (t/degC = T/K - 273.15, t/degF = 1.8 t/degC
+ 32).
"""

import unicodedata
from decimal import Decimal, localcontext

# How many of the family's base unit one unit is; powers of ten are exact.
_FAMILIES: dict[str, dict[str, Decimal]] = {
    "voltage": {"mV": Decimal("1e-3"), "V": Decimal(1)},
    "resistance": {
        "mohm": Decimal("1e-3"),
        "ohm": Decimal(1),
        "kohm": Decimal("1e3"),
        "Mohm": Decimal("1e6"),
    },
    "current": {"uA": Decimal("1e-6"), "mA": Decimal("1e-3"), "A": Decimal(1)},
    "time": {"ms": Decimal("1e-3"), "s": Decimal(1)},
    "frequency": {"Hz": Decimal(1), "kHz": Decimal("1e3")},
    "share": {"%": Decimal(1)},
}
_TEMPERATURES = ("°C", "K", "°F")
# Other spellings seen on instruments, after Unicode compatibility folding (which
# turns the ohm, micro and degree Celsius signs into letters).
_SPELLINGS = {
    "mΩ": "mohm",
    "Ω": "ohm",
    "Ohm": "ohm",
    "kΩ": "kohm",
    "MΩ": "Mohm",
    "μA": "uA",
    "degC": "°C",
    "degF": "°F",
}
_FAMILY_OF = {unit: name for name, units in _FAMILIES.items() for unit in units}
# Digits carried in a conversion: more than any reading has, so that powers of ten
# never round and fifths of a degree round far beyond the last digit shown.
_DIGITS = 60
_ICE = Decimal("273.15")


class UnknownUnitError(ValueError):
    """A unit is not known, or cannot be turned into the one asked for."""


def unit_symbol(unit: str) -> str:
    """Return the one spelling used for a unit.

    Parameters
    ----------
    unit : str
        As written on the instrument or in the file; blanks around it are dropped.

    Returns
    -------
    str
        For example `mohm` for a milliohm sign.

    Raises
    ------
    UnknownUnitError
        If the unit is not known.
    """
    folded = unicodedata.normalize("NFKC", unit).strip()
    symbol = _SPELLINGS.get(folded, folded)
    if symbol not in _FAMILY_OF and symbol not in _TEMPERATURES:
        known = ", ".join([*_FAMILY_OF, *_TEMPERATURES])
        raise UnknownUnitError(
            f"unit {unit!r} is not known; known are {known} (mohm is a thousandth of"
            " an ohm, Mohm a million ohm)"
        )
    return symbol


def convertible_units(unit: str) -> tuple[str, ...]:
    """Return the units a value in `unit` can be given in, `unit` included.

    Raises
    ------
    UnknownUnitError
        If the unit is not known.
    """
    symbol = unit_symbol(unit)
    if symbol in _TEMPERATURES:
        return _TEMPERATURES
    return tuple(_FAMILIES[_FAMILY_OF[symbol]])


def convert(
    value: Decimal, unit: str, to: str, *, difference: bool | None = None
) -> Decimal:
    """Convert a value from one unit to another.

    Parameters
    ----------
    value : Decimal
        The number.
    unit, to : str
        Unit it is in and unit wanted.
    difference : bool, optional
        For °C, K and °F: whether the value is a difference of temperatures. Left
        out, the unit wanted decides: every check in K is a rise or an offset, so K
        means a difference; °C and °F mean a temperature.

    Returns
    -------
    Decimal
        Exact, except from °F, where ninths are cut after 60 digits.

    Raises
    ------
    UnknownUnitError
        If a unit is not known or the two measure different things.
    """
    source, target = unit_symbol(unit), unit_symbol(to)
    if target not in convertible_units(source):
        raise UnknownUnitError(
            f"{unit!r} cannot be turned into {to!r}; the value must be in"
            f" {' or '.join(convertible_units(target))}"
        )
    with localcontext() as context:
        context.prec = _DIGITS
        if source in _TEMPERATURES:
            if difference is None:
                difference = target == "K"
            return _temperature(value, source, target, difference=difference)
        family = _FAMILIES[_FAMILY_OF[source]]
        return value * family[source] / family[target]


def _temperature(
    value: Decimal, source: str, target: str, *, difference: bool
) -> Decimal:
    """Convert by way of °C: a difference scales only, a temperature shifts too."""
    if source == target:
        return value
    celsius = value
    if source == "°F":
        celsius = (value if difference else value - 32) * 5 / 9
    elif source == "K" and not difference:
        celsius = value - _ICE
    if target == "°F":
        return celsius * 9 / 5 + (0 if difference else 32)
    if target == "K" and not difference:
        return celsius + _ICE
    return celsius
