"""The checks as shown: what to measure on this unit, and what keeps mains off."""

from collections.abc import Mapping, Sequence
from functools import lru_cache

from analytics.advice.bench_state import INSPECTION, SHUTS_THE_GATE, BenchState
from analytics.advice.check_counts import learnt_check_table, n_learnt_from
from analytics.advice.check_table import default_check_table
from analytics.advice.checks_at_hand import (
    PROVED_DEAD,
    ChecksAtHand,
    checks_at_hand,
)
from analytics.advice.first_check import RankedCheck
from analytics.advice.gate import JudgedReading, needed_points
from analytics.advice.outcome_meaning import OutcomeMeaning, outcomes_of
from analytics.advice.readings import expected_window
from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.queries.answer import Row
from dashboard.queries.unit_facts import Context
from ingest import catalogue

Facts = tuple[tuple[str, object], ...]
SAYS_NOTHING = "That says nothing of which fault it is."
BARS = "No mains on this unit until it is put right and passes."
ROUNDING = 1e-9
# What the check table of a unit depends on.
OF_TABLE = ("coil_v", "connector", "ground_fault_device")


def check_table(snapshot: Snapshot, context: Context) -> ChecksAtHand:
    """Return the check x mode table of a unit, as own cases have moved it."""
    return _table(snapshot, _facts(context))[0]


def table_words(snapshot: Snapshot, context: Context) -> str:
    """Return where the chances of the check x mode table of a unit come from."""
    n = _table(snapshot, _facts(context))[1]
    if not n:
        return "Chances of a check to fail: common practice, no own outcome yet."
    return (
        "Chances of a check to fail: common practice as ten cases, and "
        f"{text.counted(n, 'outcome')} of checks at intake and before mains in own "
        "cases whose mode a reading backs; a check that confirms a mode keeps its "
        "chance."
    )


def _facts(context: Context) -> Facts:
    return tuple((name, context.get(name)) for name in OF_TABLE)


@lru_cache(maxsize=32)
def _table(snapshot: Snapshot, facts: Facts) -> tuple[ChecksAtHand, int]:
    table = default_check_table(dict(facts))
    counts = snapshot.ask("check_counts")
    return checks_at_hand(learnt_check_table(table, counts)), n_learnt_from(
        table, counts
    )


def check_rows(
    ranked: Sequence[RankedCheck], context: Context, state: BenchState
) -> list[Row]:
    """Return the ranked checks as the answer shows them."""
    windows = _windows(tuple(sorted(context.items())))
    return [_check_row(item, windows[item.check], context, state) for item in ranked]


def _check_row(
    item: RankedCheck, window: str, context: Context, state: BenchState
) -> Row:
    check = catalogue.checks()[item.check]
    known = state.states.get(item.check)
    needed = needed_points(item.check, context)
    return {
        "check": item.check,
        "label": check.label,
        "measures": check.measures,
        "points": check.points,
        "needed_points": list(needed),
        "missing_points": list(known.missing_points if known else needed),
        "window": window,
        "unit": check.unit,
        "hazard": item.hazard,
        "hazard_words": catalogue.codes("hazards")[item.hazard].label,
        "caution": check.caution,
        "minutes": item.minutes,
        "minutes_before": item.minutes_before,
        "opens": item.opens,
        "confirm_probability": item.confirm_probability,
        "confirm_per_minute": item.confirm_per_minute,
        "bits": item.bits,
        "bits_per_minute": item.bits_per_minute,
        "blocked_by": list(item.blocked_by),
    }


def first_outcomes(
    ranked: Sequence[RankedCheck],
    probabilities: Mapping[str, float],
    table: ChecksAtHand,
) -> Row | None:
    """Return the check to do next and what each outcome of it would mean."""
    first = next((item.check for item in ranked if not item.blocked_by), None)
    if first is None:
        return None
    return {
        "check": first,
        "outcomes": [
            {
                "outcome": meaning.outcome,
                "probability": meaning.probability,
                "would_confirm": list(meaning.would_confirm),
                "words": _meaning_words(first, meaning),
            }
            for meaning in outcomes_of(first, probabilities, table)
        ],
    }


def _meaning_words(check: str, meaning: OutcomeMeaning) -> str:
    if any(abs(moved.after - moved.before) > ROUNDING for moved in meaning.moved):
        return meaning.words
    bars = meaning.outcome == "fail" and catalogue.checks()[check].gate
    return f"{SAYS_NOTHING} {BARS}" if bars else SAYS_NOTHING


@lru_cache(maxsize=64)
def _windows(facts: Facts) -> Mapping[str, str]:
    """Return the window of each check that can be done on a unit."""
    context = dict(facts)
    connector = context.get("connector")
    return {
        code: expected_window(code, context).text
        for code, check in catalogue.checks().items()
        if not (check.connector and connector and check.connector != connector)
    }


def gate_rows(state: BenchState) -> list[Row]:
    """Return every gate check with its outcome and why it keeps mains off.

    `why` is empty where the check keeps nothing off.
    """
    left = {reason.check: reason for reason in state.gate}
    rows: list[Row] = []
    for code, check in catalogue.checks().items():
        if not check.gate:
            continue
        reason = left.get(code)
        why = reason.why if reason else ""
        if code == PROVED_DEAD and not reason and state.not_safe:
            why = state.not_safe
        rows.append(
            {
                "check": code,
                "label": check.label,
                "outcome": reason.outcome if reason else "pass",
                "missing_points": list(reason.missing_points) if reason else [],
                "why": why,
            }
        )
    return rows


def findings_open(
    findings: Sequence[str], readings: Sequence[JudgedReading]
) -> list[str]:
    """Return the findings that keep mains off until an inspection says otherwise."""
    last = {r.point: r.outcome for r in readings if r.check == INSPECTION}
    return [
        code
        for code in SHUTS_THE_GATE
        if (code in findings or code in last) and last.get(code) != "pass"
    ]
