"""Judge a reading: inside its limit, outside, or neither, and what it means."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from statistics import NormalDist

from analytics.advice.check_table import applies
from analytics.advice.limits import Context, Limit, in_words, word
from analytics.advice.limits_pilot import (
    cable_coding,
    dc_trip_current,
    ground_fault_trip_current,
    ground_fault_trip_time,
    pilot_duty,
    pilot_state,
    supply_voltage,
)
from analytics.advice.limits_power import (
    contactor_coil,
    contactor_open,
    control_supply_voltage,
    core_localisation,
    earth_continuity,
    path_resistance,
)
from analytics.advice.reading_values import interval_of
from analytics.advice.reading_words import meaning_of
from ingest.catalogue import Check, checks, codes

LIMITS: dict[str, Callable[[Check, Context], Limit]] = {
    "earth_continuity": earth_continuity,
    "path_resistance": path_resistance,
    "core_localisation": core_localisation,
    "contactor_open": contactor_open,
    "control_supply_voltage": control_supply_voltage,
    "contactor_coil": contactor_coil,
    "supply_voltage": supply_voltage,
    "pilot_duty": pilot_duty,
    "pilot_voltage_state_b": pilot_state,
    "pilot_voltage_state_c": pilot_state,
    "cable_coding": cable_coding,
    "ground_fault_trip_current": ground_fault_trip_current,
    "ground_fault_trip_time": ground_fault_trip_time,
    "dc_trip_current": dc_trip_current,
}
# Standard measuring uncertainty where none is given: a share of the limit, or an
# amount in the check's unit. Typical of hand-held testers; common practice, no source.
UNCERTAINTY_SHARE = {
    "ohm": 0.02,
    "mohm": 0.02,
    "Mohm": 0.05,
    "V": 0.005,
    "Hz": 0.001,
    "mA": 0.02,
    "ms": 0.02,
}
UNCERTAINTY_AMOUNT = {"%": 0.1, "K": 0.5}
# These are never below zero; nulled leads may leave a little below, up to this share
# of the limit. Common practice, no source.
NEVER_NEGATIVE = ("ohm", "mohm", "Mohm", "mA", "ms")
NULLING_SHARE = 0.1
NO_DETECTOR = (
    "{check} does not apply: this unit is on record without a device that detects"
    " direct current"
)
_NORMAL = NormalDist()


@dataclass(frozen=True, slots=True)
class Evaluation:
    """A reading judged, with the limits used.

    `low` and `high` are in `unit`, None where that side is open; `value` is the
    reading in `unit`, infinite beyond a range without a bound, None for an outcome
    word. `probability_of_fail` is nan where the reading says nothing.
    """

    check: str
    outcome: str
    low: float | None
    high: float | None
    unit: str
    value: float | None
    source: str
    probability_of_fail: float
    uncertainty: float | None
    meaning: str


@dataclass(frozen=True, slots=True)
class Window:
    """What a reading is expected to be, before there is one."""

    low: float | None
    high: float | None
    unit: str
    text: str
    source: str
    assumed: tuple[str, ...]


def limit_of(check: str, context: Context) -> Limit:
    """Return the limit of a check for the unit at hand.

    Parameters
    ----------
    check : str
        Code of the check.
    context : mapping
        Fields of the unit, `current_setting_a`, `point` and the model's values.

    Raises
    ------
    ValueError
        If there is no such check, it does not apply to the connector, or a fact in
        `context` is not possible.
    """
    known = checks().get(check)
    if known is None:
        raise ValueError(f"no check is called {check!r}")
    connector = word(context, "connector", codes("connectors"))
    if known.connector and connector and connector != known.connector:
        raise ValueError(
            f"{check} applies to {known.connector} only; this unit has {connector}"
        )
    make = LIMITS.get(check)
    if make:
        return make(known, context)
    return Limit(known.unit, known.source, low=known.low, high=known.high)


def expected_window(check: str, context: Context) -> Window:
    """Return what a reading should be, in numbers and words.

    Raises
    ------
    ValueError
        As `limit_of`.
    """
    limit = limit_of(check, context)
    known = checks()[check]
    text = known.expected if known.unit == "outcome" else limit.text()
    return Window(limit.low, limit.high, known.unit, text, limit.source, limit.assumed)


def evaluate_reading(
    check: str,
    value: float | str | Decimal,
    unit: str | None,
    *,
    stage: str,
    context: Context,
    uncertainty: float | None = None,
) -> Evaluation:
    """Judge one reading against the limit of its check for the unit at hand.

    Parameters
    ----------
    check : str
        Code of the check.
    value : float, Decimal or str
        A number, a number beyond the instrument's range (`OL`, `>2000`), or an
        outcome word (`pass`, `fail`, `not_done`) with `unit` None.
    unit : str or None
        Unit of the value.
    stage : str
        `on_site`, `intake`, `diagnosis` or `after_repair`.
    context : mapping
        Fields of the unit (connector, phases, cable_length_m, conductor_area_mm2,
        earth_area_mm2, rated_current_a, supply_system, ground_fault_device),
        current_setting_a, point, condition and the model's values
        (control_supply_v, coil_ohm, contactor_open_ohm); also test_current_ma for
        a trip time, still_ohm for an earth path flexed, other_poles_mohm for a
        path resistance. What is missing makes the limit stricter or leaves it
        open; `meaning` says so. ambient_c changes no limit: copper limits are
        those at 20 degC, which is the strict side of a warm bench.
    uncertainty : float, optional
        Standard measuring uncertainty in the check's unit; else
        `UNCERTAINTY_SHARE` of the limit or `UNCERTAINTY_AMOUNT`.

    Returns
    -------
    Evaluation
        `outcome` is pass, fail, undefined or not_done; `probability_of_fail` is
        Phi((x - L) / u) for a value x near its limit L with uncertainty u.

    Raises
    ------
    ValueError
        If the unit does not fit the check, the check does not apply to the
        connector or to the ground-fault devices on record, or the value is neither
        number nor outcome.
    """
    if stage not in codes("stages"):
        raise ValueError(f"stage must be one of {', '.join(codes('stages'))}")
    limit = limit_of(check, context)
    known = checks()[check]
    if not applies(known, context):
        raise ValueError(NO_DETECTOR.format(check=check))
    text = str(value).strip()
    if text in codes("outcomes"):
        return _from_word(known, text, unit, stage, context, limit)
    if known.unit == "outcome":
        raise ValueError(
            f"{check} takes pass, fail or not_done and no number; got {value!r}"
        )
    lowest, highest = interval_of(known, text, unit)
    outcome = limit.outcome(lowest, highest)
    if outcome == "pass" and _below_zero(limit, highest):
        outcome = "undefined"
    spread = uncertainty if uncertainty is not None else default_uncertainty(limit)
    chance = _probability_of_fail(limit, outcome, lowest, highest, spread)
    number = highest if math.isinf(lowest) else lowest
    shown = text if lowest != highest or math.isinf(number) else in_words(number)
    return Evaluation(
        check,
        outcome,
        limit.low,
        limit.high,
        known.unit,
        number,
        limit.source,
        chance,
        spread,
        meaning_of(known, limit, outcome, number, shown, stage, context),
    )


def _from_word(
    check: Check,
    text: str,
    unit: str | None,
    stage: str,
    context: Context,
    limit: Limit,
) -> Evaluation:
    if unit:
        raise ValueError(f"{text!r} is an outcome and takes no unit; got {unit!r}")
    return Evaluation(
        check.code,
        text,
        limit.low,
        limit.high,
        check.unit,
        None,
        limit.source,
        {"pass": 0.0, "fail": 1.0}.get(text, math.nan),
        None,
        meaning_of(check, limit, text, None, text, stage, context),
    )


def default_uncertainty(limit: Limit) -> float:
    """Return the standard uncertainty taken near a limit, in the limit's unit."""
    if limit.unit in UNCERTAINTY_AMOUNT:
        return UNCERTAINTY_AMOUNT[limit.unit]
    edges = [abs(edge) for edge in (limit.fail_low, limit.high) if edge is not None]
    return UNCERTAINTY_SHARE[limit.unit] * max(edges, default=1.0)


def _below_zero(limit: Limit, highest: float) -> bool:
    """Tell whether a reading lies below zero where nothing can: wrong leads, range."""
    slack = NULLING_SHARE * (limit.high or 0.0)
    return limit.unit in NEVER_NEGATIVE and highest < -slack


def _probability_of_fail(
    limit: Limit, outcome: str, lowest: float, highest: float, spread: float
) -> float:
    if outcome == "undefined":
        return math.nan
    if lowest != highest or math.isinf(lowest) or not limit.window or spread <= 0:
        return 1.0 if outcome == "fail" else 0.0
    chance = 0.0
    if limit.high is not None:
        chance += _NORMAL.cdf((lowest - limit.high) / spread)
    if limit.fail_low is not None:
        chance += _NORMAL.cdf((limit.fail_low - lowest) / spread)
    return min(1.0, chance)
