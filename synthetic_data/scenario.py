"""What is true in the invented fleet: dates, models, suppliers, laws of age.

Every name is invented. Rates are chosen so that findings mean something on a few
thousand units; they are no claim about real chargers.
"""

import csv
import datetime as dt
import functools
import io
from dataclasses import dataclass
from importlib import resources

import numpy as np
from numpy.typing import NDArray
from scipy import special

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

LAST_DAY = dt.date(2026, 6, 30)
FIRST_PRODUCTION_DAY = dt.date(2021, 7, 1)
LAST_PRODUCTION_DAY = dt.date(2026, 4, 30)

# The planted cause: one supplier's cables, made from one month on.
BAD_SUPPLIER = "Ostrel"
BAD_FROM_MONTH = "2023-01"
BAD_MODE = "handle_pilot_open"
BAD_HAZARD_RATIO = 3.0
CABLE_SUPPLIERS = {"Ostrel": 0.25, "Halvorn": 0.45, "Tammerin": 0.30}

LOT_FRAILTY_CV = 0.3  # lots differ by some 30 %: gamma factor of mean 1

# Delay from failure to confirmation: DELAY_DAYS times a beta variate, in whole days.
DELAY_DAYS = 60
DELAY_BETA = (2.0, 3.0)

RETIREMENTS_PER_YEAR = 0.015
SHARE_REGISTERED_LATE = 0.10
REGISTERED_LATE_DAYS = (30, 400)
SHARE_WITHOUT_IN_SERVICE_DAY = 0.05
SHARE_WITHOUT_ANY_DAY = 0.005
SHARE_REPAIR_FAILED = 0.06  # the same mode comes back soon after a repair
REPAIR_FAILED_DAYS = (5, 120)

SHARE_WITHOUT_TEXT = 0.30
SHARE_WITHOUT_ERROR_WORD = 0.60
SHARE_MISSPELT_WORDS = 0.05
CURRENCY = "EUR"
DAYS_PER_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class Model:
    """A sales model of the invented maker, with all that its rating plate says."""

    name: str
    letter: str
    share: float
    connector: str
    phases: int
    rated_current_a: int
    conductor_area_mm2: float
    earth_area_mm2: float
    lengths_m: tuple[float, float]
    supply_systems: tuple[str, ...]
    plug_share: float
    ground_fault_device: str
    warranty_months: int


# Conductor sizes of type 1 follow the usual American gauges for the current
# (14 to 6 AWG); metric sizes for type 2: common practice, no source.
MODELS = (
    Model(
        *("Brindlow 20", "B", 0.15, "type_1", 1, 20, 3.31, 3.31, (5.5, 7.6)),
        *(("240", "208"), 0.8, "ccid20", 24),
    ),
    Model(
        *("Brindlow 32", "C", 0.30, "type_1", 1, 32, 5.26, 5.26, (5.5, 7.6)),
        *(("240", "240", "208"), 0.5, "ccid20", 36),
    ),
    Model(
        *("Brindlow 48", "D", 0.15, "type_1", 1, 48, 8.37, 5.26, (5.5, 7.6)),
        *(("240", "208"), 0.0, "ccid5", 36),
    ),
    Model(
        *("Quellin 7", "Q", 0.20, "type_2", 1, 32, 6.0, 6.0, (5.0, 7.5)),
        *(("230",), 0.0, "rcd_a_30;rdc_dd_6", 24),
    ),
    Model(
        *("Quellin 22", "R", 0.20, "type_2", 3, 32, 6.0, 6.0, (5.0, 7.5)),
        *(("230_400",), 0.0, "rcd_a_30;rdc_dd_6", 36),
    ),
)

# Of every model, as its maker says: electronics supply, contactor coil, and what an
# open pole with its sensing network measures at least. Invented.
MAKERS_VALUES = {
    "control_supply_v": 12.0,
    "coil_ohm": 182.0,
    "coil_v": 12.0,
    "contactor_open_ohm": 2_000_000.0,
}

REGIONS = ("North Vale", "Harbour", "Highfield", "Eastmere")
SITES_PER_REGION = 60
ENVIRONMENTS = {"indoor": 0.3, "sheltered": 0.3, "exposed": 0.3, "coastal": 0.1}
DUTIES = {
    "private": 0.4,
    "shared": 0.2,
    "workplace": 0.2,
    "public": 0.15,
    "depot": 0.05,
}
SALE_TYPES = ("direct", "reseller", "tender")
TECHNICIANS = tuple(f"T{number:02d}" for number in range(1, 9))


@dataclass(frozen=True, slots=True)
class ModeLaw:
    """One failure mode: its law of age in days, and how it shows.

    `law` is weibull (shape, scale), lognormal (shape = standard deviation of the
    logarithm, scale = median) or constant (a return that is no failure of the unit;
    scale = mean days between). `only` names the units that can have the mode.
    """

    mode: str
    law: str
    shape: float
    scale_days: float
    only: str
    variants: tuple[dict[str, float], dict[str, float]]
    findings: dict[str, float]
    error_words: dict[str, float]
    mechanisms: tuple[str, ...]
    causes: tuple[str, ...]
    part: str

    @property
    def is_failure(self) -> bool:
        """Whether the mode is a failure of the unit."""
        return self.law != "constant"

    def life_days(self, cumulative_hazard: Floats) -> Floats:
        """Return the age at which the law reaches a cumulative hazard.

        Parameters
        ----------
        cumulative_hazard : array of float
            Standard exponential variates, divided by the unit's hazard ratio.

        Returns
        -------
        array of float, same shape
            Ages in days.
        """
        if self.law == "lognormal":
            failed = -np.expm1(-cumulative_hazard)
            quantile: Floats = special.ndtri(failed)
            return self.scale_days * np.exp(self.shape * quantile)
        age: Floats = self.scale_days * cumulative_hazard ** (1 / self.shape)
        return age


def read_table(name: str) -> list[dict[str, str]]:
    """Return the rows of one of the package's own tables."""
    text = resources.files("synthetic_data").joinpath("tables", name).read_text("utf-8")
    return list(csv.DictReader(io.StringIO(text)))


def _chances(cell: str) -> dict[str, float]:
    pairs = (item.split(":") for item in cell.split(";") if item)
    return {word: float(chance) for word, chance in pairs}


def _words(cell: str) -> tuple[str, ...]:
    return tuple(word for word in cell.split(";") if word)


@functools.cache
def mode_laws() -> tuple[ModeLaw, ...]:
    """Return the modes of the scenario, failures first."""
    return tuple(
        ModeLaw(
            mode=row["mode"],
            law=row["law"],
            shape=float(row["shape"]),
            scale_days=float(row["scale_days"]),
            only=row["only"],
            variants=(_chances(row["symptoms_a"]), _chances(row["symptoms_b"])),
            findings=_chances(row["findings"]),
            error_words=_chances(row["error_words"]),
            mechanisms=_words(row["mechanisms"]),
            causes=_words(row["causes"]),
            part=row["part"],
        )
        for row in read_table("modes.csv")
    )


def day_number(day: dt.date) -> int:
    """Return the day as a number that arrays can hold."""
    return day.toordinal()


def day_of(number: int) -> dt.date:
    """Return the day of a day number."""
    return dt.date.fromordinal(int(number))
