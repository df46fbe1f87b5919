"""A fleet as the watch sees it, from a few kinds of unit: for rules counted by hand."""

import numpy as np
import pandas as pd

from analytics.rollup.watch_input import WatchInput, month_number
from analytics.statistics.watch_families import WatchedFleet

FIELDS = ("model", "production_lot", "cable_supplier", "hardware_revision", "region")


def watched(kinds, exposure, failures, *, modes, n_looks, n_ages=1, first="2024-01"):
    """Return a fleet.

    kinds: a dict of fields a kind, with n_units; exposure: kind, look, age, unit-days;
    failures: kind, look, age, mode.
    """
    frame = pd.DataFrame(
        [dict.fromkeys(FIELDS) | {"n_units": 1} | kind for kind in kinds],
        dtype=object,
    )
    kind, look, age, days = (np.array(column) for column in zip(*exposure, strict=True))
    of, when, old, mode = (
        np.array(column, dtype=np.int64)
        for column in (zip(*failures, strict=True) if failures else [[]] * 4)
    )
    year, month = map(int, first.split("-"))
    return WatchInput(
        fleet=WatchedFleet(
            n_looks=n_looks,
            n_kinds=len(kinds),
            n_modes=len(modes),
            n_ages=n_ages,
            kind=kind.astype(np.int64),
            look=look.astype(np.int64),
            age=age.astype(np.int64),
            exposure=days.astype(np.float64),
            failure_kind=of,
            failure_look=when,
            failure_age=old,
            failure_mode=mode,
        ),
        kinds=frame,
        failures=pd.DataFrame(
            {"case_id": [f"R{n}" for n in range(len(failures))], "site": None}
        ),
        modes=tuple(modes),
        first_month=month_number(pd.Timestamp(year, month, 1).date()),
        completeness=np.ones(n_looks),
    )
