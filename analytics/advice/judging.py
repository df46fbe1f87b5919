"""Limits for many readings at once: one for each distinct context.

A fleet has millions of readings and few distinct limits: a limit depends on the check
and on a handful of facts about the unit. The limits are taken once for each distinct
set of those facts; the values are then compared with them where they are stored, by
the rule of `readings.evaluate_reading`.
"""

import math
from collections.abc import Mapping

import pandas as pd

from analytics.advice.check_table import applies
from analytics.advice.limits import Limit
from analytics.advice.readings import (
    NEVER_NEGATIVE,
    NO_DETECTOR,
    NULLING_SHARE,
    limit_of,
)
from ingest.catalogue import checks

# What the limit of a check depends on; a check that is not named has one limit.
# Current setting and test current of a trip are in no record.
CONTEXT_FIELDS: Mapping[str, tuple[str, ...]] = {
    "earth_continuity": ("cable_length_m", "earth_area_mm2", "condition", "still_ohm"),
    "path_resistance": ("cable_length_m", "conductor_area_mm2", "other_pole_mohm"),
    "core_localisation": (
        *("point", "cable_length_m", "conductor_area_mm2", "earth_area_mm2"),
    ),
    "contactor_open": ("contactor_open_ohm",),
    "control_supply_voltage": ("control_supply_v",),
    "contactor_coil": ("coil_ohm",),
    "supply_voltage": ("supply_system", "point"),
    "pilot_duty": ("connector", "rated_current_a"),
    "cable_coding": ("connector", "phases", "rated_current_a"),
    "proximity_latch_at_rest": ("connector",),
    "proximity_latch_pressed": ("connector",),
    "ground_fault_trip_current": ("ground_fault_device",),
    "ground_fault_trip_time": ("ground_fault_device",),
    # No limit depends on it, but whether there is anything to trip does.
    "dc_trip_current": ("ground_fault_device",),
    "dc_trip_time": ("ground_fault_device",),
}
FIELDS = (
    *("connector", "phases", "supply_system", "ground_fault_device"),
    *("point", "condition"),
    *("cable_length_m", "conductor_area_mm2", "earth_area_mm2", "rated_current_a"),
    *("control_supply_v", "coil_ohm", "contactor_open_ohm"),
    *("still_ohm", "other_pole_mohm"),
)
COLUMNS = (
    *("is_judged", "low", "high", "has_window", "pass_low", "pass_high", "least"),
    *("bands", "unit_of_limit", "source", "assumed"),
)


def fields_used() -> pd.DataFrame:
    """Return a row for each check: `check`, and for each of `FIELDS` whether it counts.

    A fact that changes no limit of a check is left out of its context, so that units
    that differ in it share the limit.
    """
    return pd.DataFrame(
        [
            {"check": code}
            | {name: name in CONTEXT_FIELDS.get(code, ()) for name in FIELDS}
            for code in checks()
        ]
    )


def limits_of(contexts: pd.DataFrame) -> pd.DataFrame:
    """Return the limit of each context.

    Parameters
    ----------
    contexts : DataFrame
        Columns `check` and `FIELDS`, empty where not recorded or not used.
        `other_pole_mohm` is the best of the other poles.

    Returns
    -------
    DataFrame
        Rows as `contexts`. `low` and `high` are the limits to show. A value passes
        within `pass_low` to `pass_high` (infinite where open; none passes without
        `has_window`) unless it is below `least`, where no such value can be; it is
        undefined there, and where it touches one of `bands`. `source` says where the
        limit comes from, `assumed` what was taken for granted. With `is_judged` False
        the context is not possible, `assumed` says why, and nothing can be judged.
    """
    columns = ["check", *FIELDS]
    rows = [
        _row(str(values[0]), dict(zip(FIELDS, values[1:], strict=True)))
        for values in contexts[columns].itertuples(index=False, name=None)
    ]
    return pd.DataFrame(rows, index=contexts.index, columns=list(COLUMNS))


def _row(check: str, facts: dict[str, object]) -> dict[str, object]:
    other = facts.pop("other_pole_mohm")
    known = {name: value for name, value in facts.items() if not _is_empty(value)}
    if not _is_empty(other):
        known["other_poles_mohm"] = (other,)
    try:
        limit = limit_of(check, known)
    except ValueError as error:
        return _refused(check, str(error))
    if not applies(checks()[check], known):
        return _refused(check, NO_DETECTOR.format(check=check))
    low = -math.inf if limit.low is None else limit.low
    high = math.inf if limit.high is None else limit.high
    return {
        "is_judged": True,
        "low": limit.low,
        "high": limit.high,
        "has_window": limit.window,
        "pass_low": math.nextafter(low, math.inf) if limit.low_excluded else low,
        "pass_high": math.nextafter(high, -math.inf) if limit.high_excluded else high,
        "least": _least(limit),
        "bands": [{"low": low, "high": high} for low, high in limit.between],
        "unit_of_limit": limit.unit,
        "source": limit.source,
        "assumed": "; ".join(limit.assumed) or None,
    }


def _refused(check: str, why: str) -> dict[str, object]:
    bands: list[dict[str, float]] = []
    return {
        "is_judged": False,
        "low": None,
        "high": None,
        "has_window": False,
        "pass_low": -math.inf,
        "pass_high": math.inf,
        "least": -math.inf,
        "bands": bands,
        "unit_of_limit": checks()[check].unit,
        "source": checks()[check].source,
        "assumed": why,
    }


def _least(limit: Limit) -> float:
    """Return the value below which a reading only shows wrong leads or range."""
    if limit.unit not in NEVER_NEGATIVE:
        return -math.inf
    return -NULLING_SHARE * (limit.high or 0.0)


def _is_empty(value: object) -> bool:
    return (
        value is None
        or value is pd.NA
        or (isinstance(value, float) and math.isnan(value))
    )
