"""The d.c. trip readings of units whose device tells d.c. apart.

They are drawn from a stream of their own and come last in the diagnosis, so that
every other reading is the one it would be without them.
"""

import datetime as dt

import numpy as np

from synthetic_data.bench import INSTRUMENTS, UNPROVED_OUTSIDE
from synthetic_data.bench_values import Bench, checks
from synthetic_data.cases import Row

DEVICE = "rdc_dd_6"
CHECKS = ("dc_trip_current", "dc_trip_time")


class DcTrip:
    """Adds the readings to one case after another."""

    def __init__(self, rng: np.random.Generator) -> None:
        self._bench = Bench(rng)

    def readings(self, rows: list[Row], unit: Row, mode: str) -> list[Row]:
        """Return what is to be added to the readings of a case; often nothing.

        Parameters
        ----------
        rows : list of dict
            The readings so far, in order of time.
        unit : dict
            The unit's row of the register.
        mode : str
            The true mode.
        """
        fitted = str(unit["ground_fault_device"]).split(";")
        if mode not in UNPROVED_OUTSIDE or DEVICE not in fitted:
            return []
        diagnosis = [row for row in rows if row["stage"] == "diagnosis"]
        if not diagnosis:
            return []
        now = dt.datetime.fromisoformat(diagnosis[-1]["taken_at"])
        found = []
        for code in CHECKS:
            check = checks()[code]
            now += dt.timedelta(minutes=check.minutes)
            found.append(
                {
                    "case_id": diagnosis[-1]["case_id"],
                    "check": code,
                    "taken_at": now.isoformat(timespec="minutes"),
                    "stage": "diagnosis",
                    "instrument": INSTRUMENTS[check.unit],
                    "ambient_c": diagnosis[-1]["ambient_c"],
                    "minutes": round(check.minutes),
                }
                | self._bench.good(check, unit)
            )
        return found
