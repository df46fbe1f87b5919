"""Why the checks done so far make one cause likelier than another."""

import math
from collections.abc import Mapping
from typing import Final

from analytics.advice.check_information import check_factors
from analytics.advice.checks_at_hand import CheckTable, checks_at_hand
from analytics.advice.reasons import Reason

BLOCK: Final = "check"
STATES: Final[Mapping[str, str]] = {
    "pass": "passed",
    "fail": "failed",
    "fail_not_isolated": "failed, and nothing beside it",
}
NEAR: Final = "near its limit"


def reading_reasons(
    check_table: CheckTable,
    outcomes: Mapping[str, str | float],
    one: str,
    other: str,
) -> tuple[Reason, ...]:
    """Return what each check says for one cause against another, strongest first.

    Parameters
    ----------
    check_table : DataFrame or ChecksAtHand
        As `next_check` takes it.
    outcomes : mapping of str to (str or float)
        As `update_probabilities` takes them.
    one, other : str
        The causes.

    Returns
    -------
    tuple of Reason
        Block `check`; together with the reasons of the intake their log-odds add up to
        ln(p of one / p of other) after the checks. Checks that say nothing about the
        two are left out.
    """
    at_hand = checks_at_hand(check_table)
    found = []
    for code, outcome in outcomes.items():
        if code not in at_hand:
            continue
        ours, theirs = check_factors(at_hand[code], [one, other], outcome).tolist()
        if ours != theirs:
            state = (
                STATES.get(outcome, "") if isinstance(outcome, str) else _near(outcome)
            )
            found.append(Reason(BLOCK, state, code, _log(ours) - _log(theirs)))
    return tuple(sorted(found, key=lambda reason: (-abs(reason.log_odds), reason.code)))


def _log(factor: float) -> float:
    return math.log(factor) if factor > 0 else -math.inf


def _near(chance: float) -> str:
    if chance in (0.0, 1.0):
        return STATES["fail" if chance else "pass"]
    return NEAR
