"""The units of the fleet: what the register says about each, as arrays."""

import dataclasses
import datetime as dt
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from synthetic_data import scenario
from synthetic_data.scenario import Floats, Integers, day_number, day_of

EPOCH = dt.date(1970, 1, 1).toordinal()
NEVER = np.iinfo(np.int64).max // 2  # a day that does not come


@dataclass(frozen=True, slots=True)
class Register:
    """One entry per unit, shape (n,) each; days are day numbers.

    `hazard` is the factor of the production lot on every failure mode; `retired`
    is NEVER for units that stay. `lot` numbers the lots in `lot_names`.
    """

    model: Integers
    made: Integers
    shipped: Integers
    in_service: Integers
    registered: Integers
    retired: Integers
    supplier: Integers
    lot: Integers
    hazard: Floats
    plug: NDArray[np.bool_]

    def take(self, rows: Integers) -> "Register":
        """Return the units at these rows, in this order."""
        return Register(
            *(getattr(self, field.name)[rows] for field in dataclasses.fields(self))
        )

    def __len__(self) -> int:
        return len(self.model)


def _month_numbers(days: Integers) -> Integers:
    dates = (days - EPOCH).astype("datetime64[D]")
    return dates.astype("datetime64[M]").astype(np.int64)


def month_number(month: str) -> int:
    """Return months since January 1970 of a month written YYYY-MM."""
    return int(np.datetime64(month, "M").astype(np.int64))


def lot_name(lot: int) -> str:
    """Return the name of a production lot: model letter and month."""
    month, model = divmod(int(lot), len(scenario.MODELS))
    written = str(np.datetime64(month, "M"))
    return f"{scenario.MODELS[model].letter}{written[2:4]}{written[5:7]}"


def lot_frailties(rng: np.random.Generator) -> dict[int, float]:
    """Return the hazard factor of every lot: gamma, mean 1, the scenario's CV."""
    months = (scenario.FIRST_PRODUCTION_DAY, scenario.LAST_PRODUCTION_DAY)
    first, last = _month_numbers(np.array([day_number(day) for day in months]))
    n_models = len(scenario.MODELS)
    lots = range(int(first) * n_models, (int(last) + 1) * n_models)
    shape = scenario.LOT_FRAILTY_CV**-2
    return dict(zip(lots, rng.gamma(shape, 1 / shape, len(lots)).tolist(), strict=True))


def draw_register(
    n_units: int, frailties: dict[int, float], rng: np.random.Generator
) -> Register:
    """Draw units that were made, whether or not they ever became visible."""
    first = day_number(scenario.FIRST_PRODUCTION_DAY)
    last_made = day_number(scenario.LAST_PRODUCTION_DAY)
    last = day_number(scenario.LAST_DAY)
    shares = [model.share for model in scenario.MODELS]
    model = rng.choice(len(shares), n_units, p=shares)
    made = rng.integers(first, last_made, n_units, endpoint=True)
    shipped = made + rng.integers(5, 40, n_units, endpoint=True)
    in_service = shipped + 3 + np.floor(rng.gamma(2.0, 9.0, n_units)).astype(np.int64)
    low, high = scenario.REGISTERED_LATE_DAYS
    late = in_service + rng.integers(low, high, n_units, endpoint=True)
    is_late = (rng.random(n_units) < scenario.SHARE_REGISTERED_LATE) & (late <= last)
    mean_days = scenario.DAYS_PER_YEAR / scenario.RETIREMENTS_PER_YEAR
    leaves = in_service + 1 + np.floor(rng.exponential(mean_days, n_units))
    retired = np.where(leaves <= last, leaves, NEVER).astype(np.int64)
    supplier_shares = list(scenario.CABLE_SUPPLIERS.values())
    supplier = rng.choice(len(supplier_shares), n_units, p=supplier_shares)
    lot = _month_numbers(made) * len(shares) + model
    first_lot = min(frailties)
    factors = np.array([frailties[key] for key in sorted(frailties)])
    plug_share = np.array([entry.plug_share for entry in scenario.MODELS])[model]
    return Register(
        model=model,
        made=made,
        shipped=shipped,
        in_service=in_service,
        registered=np.where(is_late, late, in_service),
        retired=retired,
        supplier=supplier,
        lot=lot,
        hazard=factors[lot - first_lot],
        plug=rng.random(n_units) < plug_share,
    )


def bad_cable(register: Register) -> NDArray[np.bool_]:
    """Return which units carry the planted cause, shape (n,)."""
    named = list(scenario.CABLE_SUPPLIERS).index(scenario.BAD_SUPPLIER)
    from_month = month_number(scenario.BAD_FROM_MONTH)
    late = _month_numbers(register.made) >= from_month
    bad: NDArray[np.bool_] = (register.supplier == named) & late
    return bad


def serials(register: Register) -> list[str]:
    """Return the serial of each unit: model letter, year and month made, number."""
    return [
        f"{lot_name(lot)}-{number:06d}"
        for number, lot in enumerate(register.lot.tolist(), start=1)
    ]


def _revision(made: int) -> tuple[str, str]:
    year = day_of(made).year
    revision = "A" if year <= 2022 else "B" if year <= 2024 else "C"  # noqa: PLR2004 - years of the invented production
    return revision, f"{year - 2020}.{day_of(made).month // 4}.0"


def _pick(shares: dict[str, float], n: int, rng: np.random.Generator) -> list[str]:
    drawn = rng.choice(len(shares), n, p=list(shares.values()))
    names = list(shares)
    return [names[index] for index in drawn.tolist()]


def unit_rows(
    register: Register,
    retired: Integers,
    rng: np.random.Generator,
) -> list[dict[str, Any]]:
    """Return the rows of the units file.

    Parameters
    ----------
    register : Register
        The units, in the order of their serials.
    retired : array of int, shape (n,)
        Day each unit left service, by retirement or by its last case.
    rng : numpy.random.Generator
        Draws site, environment and which cells were left empty.
    """
    n = len(register)
    environment = _pick(scenario.ENVIRONMENTS, n, rng)
    duty = _pick(scenario.DUTIES, n, rng)
    places = rng.integers(len(scenario.REGIONS) * scenario.SITES_PER_REGION, size=n)
    chance = rng.random((n, 8)).tolist()
    names = list(scenario.CABLE_SUPPLIERS)
    last = day_number(scenario.LAST_DAY)
    rows = []
    for index, serial in enumerate(serials(register)):
        model = scenario.MODELS[register.model[index]]
        made = int(register.made[index])
        hardware, firmware = _revision(made)
        pick = chance[index]
        region = scenario.REGIONS[places[index] % len(scenario.REGIONS)]
        system = model.supply_systems[int(pick[0] * len(model.supply_systems))]
        row = {
            "serial": serial,
            "model": model.name,
            "hardware_revision": hardware,
            "firmware_version": firmware,
            "production_lot": lot_name(register.lot[index]),
            "cable_supplier": names[register.supplier[index]],
            "manufactured_on": day_of(made),
            "site": f"{region} {places[index] + 1:03d}" if pick[1] > 0.05 else None,  # noqa: PLR2004 - some 5 % left empty
            "region": region,
            "environment": environment[index] if pick[2] > 0.05 else None,  # noqa: PLR2004 - some 5 % left empty
            "duty": duty[index],
            "connector": model.connector,
            "phases": model.phases,
            "supply_connection": "plug" if register.plug[index] else "fixed",
            "cable_length_m": model.lengths_m[int(pick[3] * 2)],
            "conductor_area_mm2": model.conductor_area_mm2,
            "earth_area_mm2": model.earth_area_mm2,
            "rated_current_a": model.rated_current_a,
            "supply_system": system,
            "ground_fault_device": model.ground_fault_device,
            "warranty_months": model.warranty_months,
            "sale_type": scenario.SALE_TYPES[int(pick[4] * 3)],
        }
        rows.append(row | _dates(register, index, int(retired[index]), last, pick[5:]))
    return rows


def _dates(
    register: Register, index: int, retired: int, last: int, chance: list[float]
) -> dict[str, Any]:
    """Return the recorded dates; some were never written down."""
    in_service = int(register.in_service[index])
    registered = int(register.registered[index])
    no_day = chance[0] < scenario.SHARE_WITHOUT_ANY_DAY
    not_written = chance[0] < scenario.SHARE_WITHOUT_IN_SERVICE_DAY
    running = in_service <= last
    late = registered > in_service
    extended = chance[1] < 0.05  # noqa: PLR2004 - a twentieth bought a longer warranty
    return {
        "shipped_on": None if no_day else day_of(register.shipped[index]),
        "in_service_on": day_of(in_service) if running and not not_written else None,
        "registered_on": (
            day_of(registered) if running and (late or chance[2] < 2 / 3) else None
        ),
        "retired_on": day_of(retired) if retired <= last else None,
        "warranty_extended_to": day_of(in_service + 5 * 365) if extended else None,
    }
