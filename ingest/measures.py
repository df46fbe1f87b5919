"""Units of measure: exact conversion of what a meter shows.

Factors are Decimal, so 0.35 kohm is exactly 350 ohm. Case counts: `mohm` is a
thousandth of an ohm, `Mohm` a million. Prefixes: SI Brochure (BIPM, 9th edition, table
7); the degree Fahrenheit is defined by °F = 1.8 * °C + 32 (NIST SP 811, appendix B).
"""

from decimal import Decimal

THOUSAND = Decimal(1000)
MILLION = Decimal(1_000_000)

# Unit -> (what is measured, factor to the first unit of that quantity).
_FACTORS: dict[str, tuple[str, Decimal]] = {
    "V": ("voltage", Decimal(1)),
    "mV": ("voltage", 1 / THOUSAND),
    "ohm": ("resistance", Decimal(1)),
    "mohm": ("resistance", 1 / THOUSAND),
    "kohm": ("resistance", THOUSAND),
    "Mohm": ("resistance", MILLION),
    "A": ("current", Decimal(1)),
    "mA": ("current", 1 / THOUSAND),
    "uA": ("current", 1 / MILLION),
    "s": ("time", Decimal(1)),
    "ms": ("time", 1 / THOUSAND),
    "Hz": ("frequency", Decimal(1)),
    "kHz": ("frequency", THOUSAND),
    "%": ("share", Decimal(1)),
    "K": ("temperature difference", Decimal(1)),
    "°C": ("temperature difference", Decimal(1)),
    "°F": ("temperature difference", Decimal(5) / Decimal(9)),
}
# Other spellings of the same units; both micro signs and both ohm signs occur.
_SPELLINGS = {
    "Ω": "ohm", "\u2126": "ohm", "mΩ": "mohm", "m\u2126": "mohm",
    "kΩ": "kohm", "k\u2126": "kohm", "MΩ": "Mohm", "M\u2126": "Mohm",
    "\u00b5A": "uA", "\u03bcA": "uA", "C": "°C", "F": "°F",
}  # fmt: skip

ZERO_CELSIUS_IN_KELVIN = Decimal("273.15")
ZERO_CELSIUS_IN_FAHRENHEIT = Decimal(32)


class UnknownUnitError(ValueError):
    """The unit is not known, or measures something else."""


def convert(value: Decimal, unit: str, to: str) -> Decimal:
    """Return a value in another unit of the same quantity.

    K, °C and °F are differences here: all checks that read them compare two
    temperatures. `convert_temperature` is for temperatures.

    Parameters
    ----------
    value : Decimal
    unit, to : str

    Returns
    -------
    Decimal

    Raises
    ------
    UnknownUnitError
        Not a known unit, or of another quantity; names the units that would do.
    """
    kind, factor = _known(unit, to)
    wanted_kind, wanted = _known(to, to)
    if kind != wanted_kind:
        raise _unknown(unit, to)
    return value * (factor / wanted)


def convert_temperature(value: Decimal, unit: str, to: str) -> Decimal:
    """Return a temperature (not a difference) in another unit.

    Raises
    ------
    UnknownUnitError
        Not one of K, °C, °F.
    """
    celsius = {
        "°C": lambda: value,
        "K": lambda: value - ZERO_CELSIUS_IN_KELVIN,
        "°F": lambda: (value - ZERO_CELSIUS_IN_FAHRENHEIT) * 5 / 9,
    }
    name, wanted = (_SPELLINGS.get(word.strip(), word.strip()) for word in (unit, to))
    if name not in celsius or wanted not in celsius:
        raise UnknownUnitError(f"{unit} to {to}: temperatures are in °C, K or °F")
    in_celsius = celsius[name]()
    if wanted == "K":
        return in_celsius + ZERO_CELSIUS_IN_KELVIN
    if wanted == "°F":
        return in_celsius * 9 / 5 + ZERO_CELSIUS_IN_FAHRENHEIT
    return in_celsius


def convertible_units(to: str) -> tuple[str, ...]:
    """Return the units that convert to a unit; none for "outcome"."""
    if to not in _FACTORS:
        return ()
    kind = _FACTORS[to][0]
    return tuple(name for name, (other, _) in _FACTORS.items() if other == kind)


def _known(unit: str, to: str) -> tuple[str, Decimal]:
    name = _SPELLINGS.get(unit.strip(), unit.strip())
    if name not in _FACTORS:
        raise _unknown(unit, to)
    return _FACTORS[name]


def _unknown(unit: str, to: str) -> UnknownUnitError:
    known = convertible_units(to)
    words = f"known are {', '.join(known)}" if known else f"{to} takes no unit"
    return UnknownUnitError(f"unit {unit!r} does not convert to {to}; {words}")
