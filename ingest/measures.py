"""Units of measure: exact conversion in decimal numbers.

Case counts: `mohm` is a thousandth of an ohm, `Mohm` a million. Prefixes are those
of the SI (BIPM, SI Brochure, 9th edition, table 7); degree Celsius and degree
Fahrenheit are defined from the kelvin (t/degC = T/K - 273.15, t/degF = 1.8 t/degC
+ 32). An inch is 25.4 mm and a foot 12 inches, exactly (NIST SP 811, appendix B,
from memory); a watt hour is 3600 J.

What a reading may be in (`convert`) and what a column may be in (`to_field_unit`) are
kept apart: an instrument that shows a trip time in hours is a slip.
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
# The same for columns of numbers that no instrument has shown.
_COLUMN_FAMILIES: dict[str, dict[str, Decimal]] = {
    "length": {
        "mm": Decimal("1e-3"),
        "cm": Decimal("1e-2"),
        "m": Decimal(1),
        "in": Decimal("0.0254"),
        "ft": Decimal("0.3048"),
    },
    "area": {"mm2": Decimal(1), "cm2": Decimal(100)},
    "time": {"s": Decimal(1), "min": Decimal(60), "h": Decimal(3600)},
    "term": {"month": Decimal(1), "year": Decimal(12)},
    "energy": {
        "J": Decimal(1),
        "kJ": Decimal("1e3"),
        "MJ": Decimal("1e6"),
        "Wh": Decimal(3600),
        "kWh": Decimal("3600e3"),
        "MWh": Decimal("3600e6"),
    },
    "current": {"mA": Decimal("1e-3"), "A": Decimal(1)},
}
# The unit that each field is kept in; a field that is not named here has none.
FIELD_UNITS = {
    "cable_length_m": "m",
    "conductor_area_mm2": "mm2",
    "earth_area_mm2": "mm2",
    "rated_current_a": "A",
    "warranty_months": "month",
    "labour_minutes": "min",
    "minutes": "min",
    "ambient_c": "°C",
    "energy_kwh": "kWh",
    "connected_hours": "h",
}
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
# Words and careless capitals met in the headings of columns, where no other unit of
# the field could be meant. Milli and mega stay apart: `mwh` is not known.
_COLUMN_WORDS = {
    "°C": ("c", "°c", "degc", "deg c", "celsius"),
    "K": ("kelvin",),
    "°F": ("f", "°f", "degf", "deg f", "fahrenheit"),
    "mm": ("millimetre", "millimeter"),
    "cm": ("centimetre", "centimeter"),
    "m": ("metre", "meter", "metres", "meters"),
    "in": ("inch", "inches", "zoll"),
    "ft": ("foot", "feet", "fuß", "fuss"),
    "mm2": ("sqmm", "sq mm", "mm^2", "qmm"),
    "cm2": ("sqcm", "sq cm", "cm^2", "qcm"),
    "s": ("sec", "second", "seconds", "sek"),
    "min": ("mins", "minute", "minutes", "minuten", "minutos"),
    "h": ("hr", "hrs", "hour", "hours", "std", "stunden", "heures", "horas", "uren"),
    "month": ("months", "monate", "mois", "meses", "maanden"),
    "year": ("years", "jahre", "ans", "años", "jaar"),
    "Wh": ("wh",),
    "kWh": ("kwh",),
    "A": ("amp", "amps", "ampere", "amperes"),
}
_COLUMN_UNIT_OF = {
    word: unit for unit, words in _COLUMN_WORDS.items() for word in words
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


def field_units(field: str) -> tuple[str, ...]:
    """Return the units that a column for a field may be in; empty if it has none."""
    own = FIELD_UNITS.get(field)
    if own is None:
        return ()
    return tuple(_column_family(own)) or _TEMPERATURES


def field_unit_symbol(unit: str, field: str) -> str:
    """Return the one spelling of a unit of a column.

    Parameters
    ----------
    unit : str
        As written by a person: `ft`, `Feet`, `mm²`.
    field : str
        The field that the column is for.

    Returns
    -------
    str

    Raises
    ------
    UnknownUnitError
        The unit is not known, or measures something else than the field.
    """
    folded = unicodedata.normalize("NFKC", unit).strip()
    known = field_units(field)
    small = folded.casefold()
    for symbol in (folded, _COLUMN_UNIT_OF.get(small, small)):
        if symbol in known:
            return symbol
    raise UnknownUnitError(
        f"{unit!r} cannot be turned into {FIELD_UNITS.get(field)!r} of {field}; the"
        f" unit must be {' or '.join(known)}"
        if known
        else f"{field} is not kept in a unit, got {unit!r}"
    )


def to_field_unit(value: Decimal, unit: str, field: str) -> Decimal:
    """Convert a number of a column to the unit that its field is kept in.

    Parameters
    ----------
    value : Decimal
    unit : str
        The unit that the column is in.
    field : str
        One of `FIELD_UNITS`. A temperature of a column is never a difference.

    Returns
    -------
    Decimal
        Exact where the result has an end (inches to metres, hours to minutes), else
        cut after 60 digits (seconds to minutes).

    Raises
    ------
    UnknownUnitError
        The unit is not known, or measures something else than the field.
    """
    source, target = field_unit_symbol(unit, field), FIELD_UNITS[field]
    with localcontext() as context:
        context.prec = _DIGITS
        if source in _TEMPERATURES:
            return _temperature(value, source, target, difference=False)
        family = _column_family(target)
        return value * family[source] / family[target]


def _column_family(unit: str) -> dict[str, Decimal]:
    families = _COLUMN_FAMILIES.values()
    return next((family for family in families if unit in family), {})


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
