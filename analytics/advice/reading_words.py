"""What a judged reading means, in a sentence or two for the bench."""

from collections.abc import Callable

from analytics.advice.limits import Context, Limit, in_words, recorded
from ingest.catalogue import Check

# Pilot circuit of SAE J1772 / IEC 61851-1 Annex A, secondary reading.
SOURCE_V, SOURCE_OHM, DIODE_V = 12.0, 1000.0, 0.7
LOAD_B_OHM = 2740.0
LOAD_C_OHM = 1 / (1 / 2740.0 + 1 / 1300.0)
WATCH_CONTACT_MOHM = 2.0  # common practice, no source
BENCH_STAGES = ("intake", "diagnosis", "after_repair")


def leak_ohm(no_vehicle_v: float) -> float:
    """Return the leak from pilot to earth that gives a voltage without a vehicle."""
    return SOURCE_OHM * no_vehicle_v / (SOURCE_V - no_vehicle_v)


def series_ohm(plateau_v: float, load_ohm: float) -> float:
    """Return the resistance in series with the vehicle load that gives a plateau."""
    share = (plateau_v - DIODE_V) / (SOURCE_V - DIODE_V)
    return (share * SOURCE_OHM) / (1 - share) - load_ohm


def meaning_of(
    check: Check,
    limit: Limit,
    outcome: str,
    value: float | None,
    shown: str,
    stage: str,
    context: Context,
) -> str:
    """Return the sentences for one reading.

    Parameters
    ----------
    check : Check
    limit : Limit
        As used for the judgement.
    outcome : str
        pass, fail, undefined or not_done.
    value : float or None
        In the check's unit; None for an outcome word.
    shown : str
        The value as it is to be read.
    stage : str
    context : mapping
    """
    sentences = [_verdict(check, limit, outcome, value, shown)]
    if value is not None and outcome != "not_done":
        hint = HINTS.get(check.code, _no_hint)(value, outcome)
        sentences += [hint] if hint else []
    if limit.window and limit.assumed:
        sentences.append(f"Assumed: {'; '.join(limit.assumed)}.")
    sentences += _remarks(check, outcome, stage, context)
    return " ".join(sentences)


def _verdict(
    check: Check, limit: Limit, outcome: str, value: float | None, shown: str
) -> str:
    if outcome == "not_done":
        return f"{check.label}: not done, which says nothing either way."
    if value is None:
        return f"{check.label}: recorded as {outcome}."
    reading = f"{shown}{'' if check.unit == '%' else ' '}{check.unit}"
    if outcome == "undefined":
        what = what_to_do(check, limit)
        if not limit.window:
            return f"{reading} cannot be judged: {'; '.join(limit.assumed)}. {what}"
        return f"{reading} is neither pass nor fail; expected {limit.text()}. {what}"
    if not limit.window:
        return f"{reading} fits no possible limit: {'; '.join(limit.assumed)}."
    where = "inside" if outcome == "pass" else "outside"
    return f"{reading} is {where} the limit, {limit.text()}."


def what_to_do(check: Check, limit: Limit) -> str:
    """Return what to do about a reading that is neither pass nor fail."""
    if not limit.window:
        return "Record what is missing with the unit, then enter the reading again."
    if check.code == "contactor_open":
        return "Measure again on a range that shows megohms; it opens no gate yet."
    again = "Measure again: leads nulled, range, point and contact of the probes."
    return f"{again} It opens no gate yet." if check.gate else again


def _remarks(check: Check, outcome: str, stage: str, context: Context) -> list[str]:
    found = []
    if check.gate and stage == "on_site":
        found.append("A reading on site opens no gate.")
    if check.code == "supply_voltage" and stage in BENCH_STAGES:
        found.append("The supply of the bench says nothing about the supply on site.")
    if check.gate and outcome == "fail":
        found.append("No mains on this unit until it is put right and passes.")
    condition = recorded(context, "condition")
    flexed = "flexed" in check.expected or "flexed" in check.measures
    if outcome == "pass" and condition == "still" and flexed:
        found.append(
            "Repeat it flexed: a pass at rest does not undo a fault in motion."
        )
    return found


def _no_hint(value: float, outcome: str) -> str:  # noqa: ARG001 - one form for all
    return ""


def _pilot_leak(value: float, outcome: str) -> str:
    if outcome == "fail" and 0 < value < SOURCE_V:
        leak = in_words(round(leak_ohm(value), -1))
        return f"As a leak of {leak} ohm from pilot to earth would give."
    return ""


def _pilot_series(load_ohm: float) -> Callable[[float, str], str]:
    def hint(value: float, outcome: str) -> str:
        if outcome == "pass" or not DIODE_V < value < SOURCE_V:
            return ""
        extra = series_ohm(value, load_ohm)
        if extra <= 0:
            return "Lower than the simulator's load gives: leak, or a second load."
        ohm = in_words(round(extra))
        return f"As {ohm} ohm more in series in the pilot path would give."

    return hint


def _contactor_open(value: float, outcome: str) -> str:  # noqa: ARG001 - one form
    return "The pole is welded." if outcome == "fail" else ""


def _contact_watch(value: float, outcome: str) -> str:
    if outcome == "pass" and value >= WATCH_CONTACT_MOHM:
        return f"{WATCH_CONTACT_MOHM:g} mohm or more: watch it."
    return ""


def _coding(value: float, outcome: str) -> str:  # noqa: ARG001 - one form for all
    if outcome == "pass":
        return ""
    return "A permanently attached cable may do without coding; see its settings."


HINTS: dict[str, Callable[[float, str], str]] = {
    "pilot_voltage_terminals": _pilot_leak,
    "pilot_voltage_handle": _pilot_leak,
    "pilot_voltage_state_b": _pilot_series(LOAD_B_OHM),
    "pilot_voltage_state_c": _pilot_series(LOAD_C_OHM),
    "contactor_open": _contactor_open,
    "contact_resistance": _contact_watch,
    "cable_coding": _coding,
}
