"""Returns of four modes, enough of them to score the suggestions, as small files."""

import datetime as dt

import numpy as np

from tests import small_fleet

MODES = (
    "handle_pilot_open",
    "control_board_dead",
    "current_sensor_drift",
    "no_fault_found",
)
SYMPTOMS = (
    "stops_when_cable_moved",
    "no_power_indication",
    "charge_does_not_start",
    "none_reported",
)
TELLS_TRUE = 0.8  # of the symptoms
STILL_OPEN = 12  # every twelfth return
FIRST = dt.date(2024, 7, 1)


def rows(n=300):
    """Return units and returns of them, in the order received; some still open."""
    rng = np.random.default_rng(4)
    mode = rng.choice(4, n, p=[0.4, 0.3, 0.2, 0.1])
    told = np.where(rng.random(n) < TELLS_TRUE, mode, rng.integers(0, 4, n))
    units = [small_fleet.unit(f"A{i:04}", in_service_on="2024-01-01") for i in range(n)]
    cases = []
    for i in range(n):
        day = FIRST + dt.timedelta(days=i)
        fields = {"received_on": day, "symptoms": SYMPTOMS[told[i]]}
        if i % STILL_OPEN:
            fields |= {
                "confirmed_mode": MODES[mode[i]],
                "confirmed_on": day + dt.timedelta(days=5),
            }
        cases.append(small_fleet.case(f"R{i:04}", f"A{i:04}", **fields))
    return units, cases
