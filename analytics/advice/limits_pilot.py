"""Limits of supply, pilot, cable coding and trip, by what the unit is made for."""

from analytics.advice.limits import (
    EVERYWHERE,
    Context,
    Limit,
    computed,
    number,
    recorded,
    word,
    words,
)
from ingest.catalogue import Check, codes

# Supply system: line to neutral, line to line (None: there is none), tolerance.
# ANSI C84.1 Range A 5 %; EN 50160 10 %; secondary readings.
SUPPLIES: dict[str, tuple[float, float | None, float]] = {
    "120": (120.0, None, 0.05),
    "208": (120.0, 208.0, 0.05),
    "240": (120.0, 240.0, 0.05),
    "230": (230.0, None, 0.10),
    "230_400": (230.0, 400.0, 0.10),
}
# A value without a point is taken between the conductors that name the system.
NAMED_LINE_TO_LINE = ("208", "240")
# Duty law of SAE J1772 / IEC 61851-1 Annex A, secondary reading: 0.6 A per point up
# to 51 A (85 %), 2.5 A per point above 64 % from there to 80 A (96 %).
LEAST_A, KNEE_A, MOST_A = 6.0, 51.0, 80.0
KNEE_DUTY = 85.0
DUTY_TOLERANCE = {"type_1": 0.5, "type_2": 2.5}
# IEC 61851-1 cable coding, secondary reading: cable current, ohm; 10 % common practice.
# 100 ohm is 63 A three-phase and 70 A single-phase.
CODINGS = ((13.0, 1500.0), (20.0, 680.0), (32.0, 220.0), (63.0, 100.0))
MOST_SINGLE_PHASE_A = 70.0
CODING_SHARE = 0.10
# Bounds of a state's window of 1 V between which no state is defined (IEC 61851-1).
STATE_GAPS = ((1.0, 2.0), (4.0, 5.0), (7.0, 8.0), (10.0, 11.0))
# a.c. devices, strictest first: no trip below, trip at or below (mA).
TRIP_MA = {"ccid5": (4.0, 6.0), "ccid20": (15.0, 20.0), "rcd_a_30": (15.0, 30.0)}
# UL 943 class A curve, T = (20 / I)**1.43 s with I in mA from 6 to 264.
CLASS_A_MA, CLASS_A_POWER = 20.0, 1.43
CLASS_A_RANGE_MA = (6.0, 264.0)
# IEC 61008 general type: from multiples of 30 mA on, at most so many ms.
RCD_MS = ((150.0, 40.0), (60.0, 150.0), (0.0, 300.0))


def supply_voltage(check: Check, context: Context) -> Limit:
    """Return the window of the supply at the point measured."""
    system = word(context, "supply_system", codes("supply_systems"))
    point = str(recorded(context, "point") or "").replace(" ", "").upper()
    if "PE" in point.split("-"):
        return Limit(
            check.unit,
            check.source,
            window=False,
            between=(EVERYWHERE,),
            assumed=("taken to earth; this check is between lines and neutral",),
        )
    if system is None:
        windows = {w for name in SUPPLIES for w in _supply_windows(name, point)}
        why = "supply system not recorded"
        return Limit(
            check.unit,
            check.source,
            window=False,
            between=tuple(sorted(windows)),
            assumed=(why,),
        )
    low, high = _supply_windows(system, point)[0]
    assumed = () if point else (f"point not recorded, {_between(system)} taken",)
    return Limit(check.unit, check.source, low=low, high=high, assumed=assumed)


def _between(system: str) -> str:
    return "line to line" if system in NAMED_LINE_TO_LINE else "line to neutral"


def _supply_windows(system: str, point: str) -> tuple[tuple[float, float], ...]:
    to_neutral, to_line, share = SUPPLIES[system]
    line_to_line = system in NAMED_LINE_TO_LINE
    if point:
        line_to_line = "N" not in point.split("-") and "-" in point
    nominal = to_line if line_to_line and to_line is not None else to_neutral
    return ((computed(nominal * (1 - share)), computed(nominal * (1 + share))),)


def duty_percent(current_a: float) -> float:
    """Return the duty that offers a current, in %.

    Parameters
    ----------
    current_a : float
        From 6 to 80 A.

    Raises
    ------
    ValueError
        If the law has no duty for it.
    """
    if not LEAST_A <= current_a <= MOST_A:
        raise ValueError(
            f"the duty law has no duty for {current_a:g} A; it covers {LEAST_A:g} to"
            f" {MOST_A:g} A"
        )
    if current_a <= KNEE_A:
        return current_a / 0.6
    return max(KNEE_DUTY, current_a / 2.5 + 64)


def pilot_duty(check: Check, context: Context) -> Limit:
    """Return the duty of the current setting; type 1 and unknown 0.5 points."""
    connector = word(context, "connector", codes("connectors"))
    tolerance = DUTY_TOLERANCE[connector or "type_1"]
    assumed = (
        () if connector else (f"connector not recorded, {tolerance:g} points taken",)
    )
    setting = number(context, "current_setting_a")
    if setting is not None:
        duty = duty_percent(setting)
        return Limit(
            check.unit,
            check.source,
            low=computed(duty - tolerance),
            high=computed(duty + tolerance),
            assumed=assumed,
        )
    # Without the setting nothing passes; an offer above the rated current fails.
    rated = number(context, "rated_current_a")
    most = duty_percent(min(max(rated, LEAST_A), MOST_A)) if rated else 100.0
    band = (0.0, min(100.0, computed(most + tolerance)))
    return Limit(
        check.unit,
        check.source,
        window=False,
        between=(band,),
        assumed=("current setting not recorded", *assumed),
    )


def pilot_state(check: Check, context: Context) -> Limit:  # noqa: ARG001 - one form
    """Return the window of a pilot state; between the states it is undefined."""
    return Limit(
        check.unit, check.source, low=check.low, high=check.high, between=STATE_GAPS
    )


def cable_coding(check: Check, context: Context) -> Limit:
    """Return the coding of the smallest cable that carries the rated current.

    Above 63 A only a unit recorded as single-phase has one.
    """
    rated, phases = number(context, "rated_current_a"), number(context, "phases")
    windows = [
        (computed(o * (1 - CODING_SHARE)), computed(o * (1 + CODING_SHARE)))
        for _, o in CODINGS
    ]
    carried = [amps for amps, _ in CODINGS]
    if phases == 1:
        carried[-1] = MOST_SINGLE_PHASE_A
    fitting = [
        w for amps, w in zip(carried, windows, strict=True) if amps >= (rated or 0)
    ]
    if rated is None or not fitting:
        why = _no_coding(rated, phases)
        return Limit(
            check.unit,
            check.source,
            window=False,
            between=tuple(sorted(windows)),
            assumed=(why,),
        )
    low, high = fitting[0]
    return Limit(check.unit, check.source, low=low, high=high)


def _no_coding(rated: float | None, phases: float | None) -> str:
    if rated is None:
        return "rated current not recorded"
    if phases is None and rated <= MOST_SINGLE_PHASE_A:
        return "phases not recorded, and three-phase this is above every coding"
    return "above every coding"


def _ac_devices(context: Context) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the a.c. devices fitted, or all with the sentence that says so."""
    fitted = words(context, "ground_fault_device", codes("ground_fault_devices"))
    known = tuple(name for name in TRIP_MA if name in fitted)
    if known:
        return known, ()
    return tuple(TRIP_MA), ("ground-fault device not recorded, the strictest taken",)


def ground_fault_trip_current(check: Check, context: Context) -> Limit:
    """Return the trip window of the strictest device fitted."""
    devices, assumed = _ac_devices(context)
    low, high = TRIP_MA[devices[0]]
    return Limit(check.unit, check.source, low=low, high=high, assumed=assumed)


def ground_fault_trip_time(check: Check, context: Context) -> Limit:
    """Return the longest trip time at the test current (`test_current_ma`).

    Without a test current the device's own upper trip level is taken.
    """
    devices, assumed = _ac_devices(context)
    test_ma = number(context, "test_current_ma")
    if test_ma is None:
        assumed = (*assumed, "test current not recorded, the trip level taken")
    high = min(_trip_ms(name, test_ma or TRIP_MA[name][1]) for name in devices)
    return Limit(check.unit, check.source, high=high, assumed=assumed)


def _trip_ms(device: str, test_ma: float) -> float:
    if device == "rcd_a_30":
        return next(ms for least, ms in RCD_MS if test_ma >= least)
    low, high = CLASS_A_RANGE_MA
    current = min(max(test_ma, low), high)
    return float(1000 * (CLASS_A_MA / current) ** CLASS_A_POWER)


def dc_trip_current(check: Check, context: Context) -> Limit:  # noqa: ARG001 - one form
    """Return the trip window of the d.c. detector: above 3 mA, at most 6 mA."""
    return Limit(
        check.unit, check.source, low=check.low, high=check.high, low_excluded=True
    )
