"""A fleet in which one supplier's cables begin to fail more often, month by month."""

import datetime as dt

from tests.small_fleet import case, unit

FIRST = dt.date(2023, 1, 1)
LAST = dt.date(2025, 6, 30)
RISES = dt.date(2025, 1, 1)
SUPPLIERS = ("Ostrel", "Halvorn", "Tammerin")
MODES = ("handle_pilot_open", "fuse_open", "handle_latch_broken", "meter_fault")
N_UNITS = 900


def months(first=FIRST, last=LAST):
    """Return the first days of the months from one day to another."""
    found, day = [], first
    while day <= last:
        found.append(day)
        day = (day + dt.timedelta(days=32)).replace(day=1)
    return found


def units():
    """Return units of all ages that came into view together, suppliers in turn."""
    return [
        unit(
            f"U{n:04}",
            model=f"Model {'AB'[n % 2]}",
            production_lot=f"L{n % 5}",
            cable_supplier=SUPPLIERS[n % 3],
            region=("North Vale", "Harbour")[n % 4 // 2],
            in_service_on=str(FIRST - dt.timedelta(days=365 * (n % 7) // 2 + 30)),
            registered_on=str(FIRST - dt.timedelta(days=1)),
        )
        for n in range(N_UNITS)
    ]


def cases(*, n_more=7, until=LAST):
    """Return eight failures a month, and so many more of Ostrel's from 2025 on."""
    left = {name: iter(range(i, N_UNITS, 3)) for i, name in enumerate(SUPPLIERS)}
    found = []

    def fails(supplier, mode, day):
        number = next(left[supplier])
        found.append(
            case(
                f"R{len(found):04}",
                f"U{number:04}",
                failed_on=str(day),
                received_on=str(day),
                confirmed_on=str(day),
                confirmed_mode=mode,
            )
        )

    for month in months():
        for n in range(8):
            day = month + dt.timedelta(days=3 * n)
            fails(SUPPLIERS[n % 3], MODES[n // 2], day)
        for n in range(n_more if month >= RISES else 0):
            fails("Ostrel", "handle_pilot_open", month + dt.timedelta(days=2 * n + 1))
    return [row for row in found if row["received_on"] <= str(until)]
