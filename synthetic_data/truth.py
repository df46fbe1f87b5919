"""What was planted, as a document: laws, cause, delays and wrong rows."""

from typing import Any

import numpy as np

from synthetic_data import exposures, scenario, status
from synthetic_data.lives import Events
from synthetic_data.register import Register, bad_cable, lot_name
from synthetic_data.wrong_rows import Planted


def planted_laws() -> dict[str, dict[str, Any]]:
    """Return the law of age of every mode, parameters in days."""
    found: dict[str, dict[str, Any]] = {}
    for law in scenario.mode_laws():
        entry: dict[str, Any] = {"law": law.law, "is_failure": law.is_failure}
        if law.law == "weibull":
            entry |= {"shape": law.shape, "scale_days": law.scale_days}
        elif law.law == "lognormal":
            entry |= {"sigma": law.shape, "median_days": law.scale_days}
        else:
            entry |= {"mean_days_between": law.scale_days}
        if law.only:
            entry["only"] = law.only
        found[law.mode] = entry
    return found


def truth_document(
    *,
    n_units: int,
    seed: int,
    register: Register,
    events: Events,
    n_never_registered: int,
    frailties: dict[int, float],
    rows: dict[str, tuple[int, Planted]],
) -> dict[str, Any]:
    """Return the truth of a fleet.

    Parameters
    ----------
    n_units, seed : int
        The arguments it was made with.
    register, events
        Units and returns.
    n_never_registered : int
        Units that failed or retired before they became visible; in no file.
    frailties : dict of int to float
        Hazard factor of each lot.
    rows : dict of str to (int, Planted)
        By file name: how many rows are good, and what was planted beside them.
    """
    used = np.unique(register.lot).tolist()
    failure_modes = sum(law.is_failure for law in scenario.mode_laws())
    return {
        "invented": True,
        "arguments": {"n_units": n_units, "seed": seed},
        "last_day": scenario.LAST_DAY.isoformat(),
        "production": [
            scenario.FIRST_PRODUCTION_DAY.isoformat(),
            scenario.LAST_PRODUCTION_DAY.isoformat(),
        ],
        "laws": planted_laws(),
        "life": "competing modes; the earliest fails the unit; as new when repaired",
        "planted_cause": {
            "cable_supplier": scenario.BAD_SUPPLIER,
            "made_from_month": scenario.BAD_FROM_MONTH,
            "mode": scenario.BAD_MODE,
            "hazard_ratio": scenario.BAD_HAZARD_RATIO,
            "share_of_units": scenario.CABLE_SUPPLIERS[scenario.BAD_SUPPLIER],
            "n_units": int(bad_cable(register).sum()),
        },
        "lot_frailty": {
            "law": "gamma",
            "cv": scenario.LOT_FRAILTY_CV,
            "factors": {lot_name(lot): round(frailties[lot], 6) for lot in used},
        },
        "delay_to_confirmation": {
            "law": "beta, rounded to whole days",
            "a": scenario.DELAY_BETA[0],
            "b": scenario.DELAY_BETA[1],
            "longest_days": scenario.DELAY_DAYS,
        },
        "retirements_per_year": scenario.RETIREMENTS_PER_YEAR,
        "registered_late": {
            "share": scenario.SHARE_REGISTERED_LATE,
            "days": list(scenario.REGISTERED_LATE_DAYS),
            "n_never_registered": n_never_registered,
        },
        "repair_failed_share": scenario.SHARE_REPAIR_FAILED,
        "metered_share": exposures.SHARE_METERED,
        "status_messages": {
            "share_of_returns": round(status.SHARE_REPORTED, 3),
            "days_before_failure": status.DAYS_BEFORE,
        },
        "drift": "the mix of modes drifts with the age of the fleet and the cause",
        "n_returns": len(events),
        "n_failures": int((events.mode < failure_modes).sum()),
        "rows": {
            name: {
                "read": n_good + planted.n_wrong,
                "good": n_good,
                "wrong": planted.wrong,
                "notices": planted.notices,
            }
            for name, (n_good, planted) in rows.items()
        },
    }
