"""Readings of a healthy unit, check by check, and of a faulty one.

Windows lie inside the limits of the trade: pilot levels and times, IEC 61851-1
Annex A (secondary reading); proximity, SAE J1772 (secondary reading); insulation,
VDE 0701 (secondary reading); the rest is common practice, no source.
"""

import functools
from dataclasses import dataclass

import numpy as np

from synthetic_data.cases import Row
from synthetic_data.scenario import read_table

COPPER_OHM_MM2_PER_M = 0.017241  # annealed copper at 20 degrees, IEC 60028, from memory
OPEN_CONTACTOR = (">20", ">200", "OL")  # meters show an open pole as over range
OPEN_INSULATION = ">1000"
SHARE_OVER_RANGE = 0.3
CODING_OHM = {20: 680.0, 32: 220.0}  # IEC 62196-2 cable coding, secondary reading
PILOT_AMPERE_PER_PERCENT = 0.6  # IEC 61851-1 table of duty cycle, 10 to 85 %
NOMINAL_VOLTS = {"208": 120.0, "240": 120.0, "230": 230.0, "230_400": 230.0}
# A.c. trip current of a good device, and of one that trips too soon, in mA.
TRIP_MA = {"ccid5": (4.3, 5.7), "ccid20": (16.0, 19.4), "rcd_a_30": (18.0, 28.0)}
TOO_SOON_MA = {"ccid5": (1.5, 3.6), "ccid20": (6.0, 13.5), "rcd_a_30": (6.0, 13.5)}
NO_TRIP = ">45"


@dataclass(frozen=True, slots=True)
class Check:
    """A bench check as the scenario uses it."""

    code: str
    unit: str
    low: float
    high: float
    decimals: int
    minutes: float
    live: bool
    points: tuple[str, ...]


@functools.cache
def checks() -> dict[str, Check]:
    """Return the scenario's checks by code."""
    return {
        row["check"]: Check(
            code=row["check"],
            unit=row["unit"],
            low=float(row["low"] or "nan"),
            high=float(row["high"] or "nan"),
            decimals=int(row["decimals"] or 0),
            minutes=float(row["minutes"]),
            live=row["live"] == "yes",
            points=tuple(point for point in row["points"].split(";") if point),
        )
        for row in read_table("checks.csv")
    }


def lines(unit: Row) -> tuple[str, ...]:
    """Return the names of the unit's supply conductors, neutral included."""
    if unit["phases"] == 3:  # noqa: PLR2004 - three phases
        return ("L1", "L2", "L3", "N")
    return ("L1", "N") if unit["connector"] == "type_2" else ("L1", "L2")


class Bench:
    """Draws measured values; `good` for a healthy unit, `spoken` as a table says."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.random = rng.random

    def within(self, low: float, high: float, decimals: int) -> str:
        """Return a number drawn between two bounds, as written on a sheet."""
        return f"{low + (high - low) * self.random():.{decimals}f}"

    def spoken(self, text: str, check: Check, unit: Row) -> Row:
        """Return value and unit, or outcome, from a table's words.

        Parameters
        ----------
        text : str
            pass, fail, good, nuisance, no_trip, `a..b unit`, `+a..b unit` (above a
            good reading) or an over-range word with its unit.
        check : Check
            The check read.
        unit : dict
            The unit's row of the register.
        """
        if text in {"pass", "fail"}:
            return {"outcome": text}
        if text == "good":
            return self.good(check, unit)
        if text == "nuisance":
            low, high = TOO_SOON_MA[_device(unit)]
            return {"value": self.within(low, high, 1), "unit": "mA"}
        if text == "no_trip":
            return {"value": NO_TRIP, "unit": "mA"}
        numbers, name = text.split(" ")
        if ".." not in numbers:
            return {"value": numbers, "unit": name}
        low, high = (float(number) for number in numbers.lstrip("+").split(".."))
        if numbers.startswith("+"):
            sound = float(self.good(check, unit)["value"])
            low, high = low + sound, high + sound
        return {"value": self.within(low, high, max(check.decimals, 2)), "unit": name}

    def good(self, check: Check, unit: Row) -> Row:
        """Return value and unit, or outcome, of a unit that is in order."""
        special = SPECIAL.get(check.code)
        if special is not None:
            return {"value": special(self, unit), "unit": check.unit}
        if not check.unit:
            return {"outcome": "pass"}
        value = self.within(check.low, check.high, check.decimals)
        return {"value": value, "unit": check.unit}

    def earth(self, unit: Row) -> str:
        """Return the resistance of the earth conductor and its joints, in ohm."""
        conductor = COPPER_OHM_MM2_PER_M / unit["earth_area_mm2"]
        return self.within(
            conductor * unit["cable_length_m"] + 0.005,
            conductor * unit["cable_length_m"] + 0.030,
            3,
        )

    def path(self, unit: Row) -> str:
        """Return the resistance of a power conductor and its joints, in mohm."""
        per_metre = 1000 * COPPER_OHM_MM2_PER_M / unit["conductor_area_mm2"]
        conductor = per_metre * unit["cable_length_m"]
        return self.within(conductor + 0.2, conductor * 1.02 + 0.6, 2)

    def insulation(self, _unit: Row) -> str:
        """Return an insulation resistance in Mohm, at times over the range."""
        if self.random() < SHARE_OVER_RANGE:
            return OPEN_INSULATION
        return self.within(60, 900, 0)

    def open_pole(self, _unit: Row) -> str:
        """Return the reading of an open contactor pole in Mohm, over range."""
        return OPEN_CONTACTOR[int(self.random() * len(OPEN_CONTACTOR))]

    def coding(self, unit: Row) -> str:
        """Return the coding resistor of a type 2 cable, in ohm."""
        nominal = CODING_OHM[unit["rated_current_a"]]
        return self.within(nominal * 0.97, nominal * 1.03, 1)

    def supply(self, unit: Row) -> str:
        """Return the voltage from line to neutral."""
        nominal = NOMINAL_VOLTS[unit["supply_system"]]
        return self.within(nominal * 0.98, nominal * 1.02, 1)

    def duty(self, unit: Row) -> str:
        """Return the duty cycle that offers the rated current, in per cent."""
        offered = unit["rated_current_a"] / PILOT_AMPERE_PER_PERCENT
        return self.within(offered - 0.3, offered + 0.3, 2)

    def trip(self, unit: Row) -> str:
        """Return the a.c. current at which the unit's own device trips, in mA."""
        low, high = TRIP_MA[_device(unit)]
        return self.within(low, high, 1)


def _device(unit: Row) -> str:
    return str(unit["ground_fault_device"]).split(";", maxsplit=1)[0]


SPECIAL = {
    "earth_continuity": Bench.earth,
    "path_resistance": Bench.path,
    "insulation_resistance": Bench.insulation,
    "contactor_open": Bench.open_pole,
    "cable_coding": Bench.coding,
    "supply_voltage": Bench.supply,
    "pilot_duty": Bench.duty,
    "ground_fault_trip_current": Bench.trip,
}
