"""The check x mode table for one unit: what can be done, and what it would show."""

import re
from typing import Final

import pandas as pd

from analytics.advice.limits import Context, recorded, word, words
from ingest.catalogue import Check, check_modes, checks, codes

COLUMNS: Final = (
    "check",
    "cause",
    "p_fail",
    "confirms",
    "minutes",
    "hazard",
    "gate",
    "needs",
)
# Upper ends of extra-low voltage (IEC 61140 voltage band, from memory).
ELV_AC_V, ELV_DC_V = 50.0, 120.0
DC_CHECKS = ("dc_trip_current", "dc_trip_time")
DC_DETECTOR = "rdc_dd_6"
_COIL = re.compile(
    r"^\s*(?P<volts>\d+(?:\.\d+)?)\s*V?\s*(?P<kind>a\.?c\.?|d\.?c\.?)?\s*$",
    re.IGNORECASE,
)


def check_hazard(check: str, context: Context) -> str:
    """Return the hazard of a check on the unit at hand.

    Only contactor_close depends on the unit: its coil counts as extra-low voltage
    where the model's `coil_v` is known to be at most 50 V (at most 120 V where it
    is written as d.c., such as `110 V d.c.`); everything else is mains.

    Raises
    ------
    ValueError
        If there is no such check.
    """
    known = checks().get(check)
    if known is None:
        raise ValueError(f"no check is called {check!r}")
    if check == "contactor_close" and _coil_is_extra_low(recorded(context, "coil_v")):
        return "extra_low_voltage"
    return known.hazard


def _coil_is_extra_low(coil_v: object | None) -> bool:
    found = _COIL.match(str(coil_v)) if coil_v is not None else None
    if found is None:
        return False
    direct = (found["kind"] or "").lower().startswith("d")
    return 0 < float(found["volts"]) <= (ELV_DC_V if direct else ELV_AC_V)


def applies(check: Check, context: Context) -> bool:
    """Tell whether a check can be done on the unit at hand.

    A check of the other connector cannot; a d.c. trip cannot where the ground-fault
    devices are recorded and none of them detects direct current. What is not
    recorded leaves a check in.
    """
    connector = word(context, "connector", codes("connectors"))
    if check.connector and connector and check.connector != connector:
        return False
    devices = words(context, "ground_fault_device", codes("ground_fault_devices"))
    return check.code not in DC_CHECKS or not devices or DC_DETECTOR in devices


def default_check_table(context: Context) -> pd.DataFrame:
    """Return the check x mode table of the catalogue for the unit at hand.

    Parameters
    ----------
    context : mapping
        Fields of the unit and the model's `coil_v`; `connector`,
        `ground_fault_device` and `coil_v` are used.

    Returns
    -------
    DataFrame
        One row per check and cause: check, cause, p_fail, confirms, minutes, hazard,
        gate, needs. A check that bears on no cause has one row with an empty cause;
        `needs` is empty where nothing is needed. Minutes and probabilities are
        starting values: common practice, no source.
    """
    links: dict[str, list[tuple[str, float, bool]]] = {}
    for link in check_modes():
        links.setdefault(link.check, []).append((link.mode, link.p_fail, link.confirms))
    rows = [
        (
            check.code,
            cause,
            p_fail,
            confirms,
            check.minutes,
            check_hazard(check.code, context),
            check.gate,
            check.needs or "",
        )
        for check in checks().values()
        if applies(check, context)
        for cause, p_fail, confirms in links.get(check.code, [("", 0.0, False)])
    ]
    return pd.DataFrame(rows, columns=list(COLUMNS))
