"""Shipments, planned sales and usage of the invented fleet, month by month."""

import datetime as dt
from collections import Counter
from dataclasses import dataclass

import numpy as np

from synthetic_data import scenario
from synthetic_data.cases import Row
from synthetic_data.lives import Events
from synthetic_data.register import Register
from synthetic_data.scenario import day_number, day_of

# All figures below are invented.
PLANNED_MONTHS = 12
GROWTH = (0.85, 1.35)  # planned sales over those of the last twelve months
SHARE_METERED = 0.05  # units whose use is on record
SESSIONS_A_MONTH = {
    "private": 20.0,
    "shared": 32.0,
    "workplace": 28.0,
    "public": 42.0,
    "depot": 26.0,
}
UNIT_SPREAD = 0.3  # units differ by some 30 %
KWH_A_SESSION = (4.0, 16.0)
HOURS_A_SESSION = (1.5, 9.0)
MOST_CONNECTED = 0.95  # of the hours of a month


def month_after(month: dt.date, months: int = 1) -> dt.date:
    """Return the first day of a later month."""
    years, index = divmod(month.month - 1 + months, 12)
    return dt.date(month.year + years, index + 1, 1)


def _written(month: dt.date) -> str:
    return month.isoformat()[:7]


def shipment_rows(units: list[Row]) -> list[Row]:
    """Return how many units of the register left, by model, lot, month and region."""
    shipped = Counter(
        (
            row["model"],
            row["production_lot"],
            _written(row["shipped_on"]),
            row["region"],
        )
        for row in units
        if row["shipped_on"] is not None
    )
    names = ("model", "production_lot", "shipped_month", "region")
    return [
        dict(zip(names, key, strict=True)) | {"quantity": quantity}
        for key, quantity in sorted(shipped.items())
    ]


def planned_rows(shipments: list[Row], rng: np.random.Generator) -> list[Row]:
    """Return the sales planned for the months to come, from those of the last year.

    Parameters
    ----------
    shipments : list of dict
        As from `shipment_rows`.
    rng : numpy.random.Generator
    """
    next_month = month_after(scenario.LAST_DAY)
    since = _written(month_after(next_month, -PLANNED_MONTHS))
    sold: Counter[tuple[str, str]] = Counter()
    for row in shipments:
        if row["shipped_month"] >= since:
            sold[row["model"], row["region"]] += row["quantity"]
    low, high = GROWTH
    return [
        {
            "model": model,
            "month": _written(month_after(next_month, ahead)),
            "region": region,
            "quantity": round(
                quantity / PLANNED_MONTHS * (low + (high - low) * rng.random())
            ),
        }
        for (model, region), quantity in sorted(sold.items())
        for ahead in range(PLANNED_MONTHS)
    ]


@dataclass(frozen=True, slots=True)
class _Away:
    """Days from a failure to the end of its repair, when nobody can plug in."""

    first: int
    last: int

    def days_in(self, first: int, last: int) -> int:
        return max(0, min(last, self.last) - max(first, self.first) + 1)


def usage_rows(
    register: Register,
    events: Events,
    retired: list[int],
    units: list[Row],
    rng: np.random.Generator,
) -> list[Row]:
    """Return the use of some units in each month that they were in service.

    A unit that has failed is not used until its case is closed.

    Parameters
    ----------
    register, events
        Units and returns.
    retired : list of int
        Day each unit left service.
    units : list of dict
        The rows of the units file, as the register.
    rng : numpy.random.Generator
        Draws which units are metered, and how they are used.
    """
    last_day = day_number(scenario.LAST_DAY)
    away: dict[int, list[_Away]] = {}
    for unit, failed, closed in zip(
        events.unit.tolist(),
        events.failed.tolist(),
        events.closed.tolist(),
        strict=True,
    ):
        away.setdefault(unit, []).append(_Away(failed, closed))
    metered = np.flatnonzero(rng.random(len(register)) < SHARE_METERED).tolist()
    rows: list[Row] = []
    for unit in metered:
        first = int(register.in_service[unit])
        last = min(last_day, retired[unit])
        rate = SESSIONS_A_MONTH[units[unit]["duty"]]
        rate *= float(np.exp(UNIT_SPREAD * rng.standard_normal()))
        month = day_of(first).replace(day=1)
        while day_number(month) <= last:
            begin, month = day_number(month), month_after(month)
            end = day_number(month) - 1
            days = min(end, last) - max(begin, first) + 1
            days -= sum(
                gone.days_in(max(begin, first), min(end, last))
                for gone in away.get(unit, [])
            )
            if days > 0:
                used = _used(rate, days, end - begin + 1, rng)
                written = _written(day_of(begin))
                rows.append({"serial": units[unit]["serial"], "month": written} | used)
    return rows


def _used(rate: float, days: int, of_days: int, rng: np.random.Generator) -> Row:
    sessions = int(rng.poisson(rate * days / of_days))
    low, high = KWH_A_SESSION
    energy = sessions * (low + (high - low) * rng.random())
    low, high = HOURS_A_SESSION
    hours = sessions * (low + (high - low) * rng.random())
    return {
        "sessions": sessions,
        "energy_kwh": round(energy, 1),
        "connected_hours": round(min(hours, MOST_CONNECTED * 24 * days), 1),
    }
