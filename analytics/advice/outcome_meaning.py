"""What each outcome of a check would mean, told before it is done."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from analytics.advice.check_information import check_factors, normalised
from analytics.advice.checks_at_hand import CheckTable, checks_at_hand
from ingest.catalogue import check_modes, checks, failure_modes

SHOWN: Final = 3


@dataclass(frozen=True, slots=True)
class ShareMoved:
    """The share of one cause before and after an outcome."""

    cause: str
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class OutcomeMeaning:
    """One outcome of a check: how likely it is, and what it would leave.

    `moved` holds the causes that would lead, likeliest first; `would_confirm` those
    that a fail confirms with what must be seen beside it, likeliest first.
    """

    outcome: str
    probability: float
    moved: tuple[ShareMoved, ...]
    would_confirm: tuple[str, ...]
    words: str


def outcomes_of(
    check: str, probabilities: Mapping[str, float], check_table: CheckTable
) -> tuple[OutcomeMeaning, ...]:
    """Return what a fail and a pass of a check would mean.

    Parameters
    ----------
    check : str
        A check of the table that has not been done yet.
    probabilities : mapping of str to float
        Share of each cause now; need not sum to 1.
    check_table : DataFrame or ChecksAtHand
        As `next_check` takes it.

    Returns
    -------
    tuple of OutcomeMeaning
        Fail, then pass; an outcome without any chance is left out.

    Raises
    ------
    ValueError
        If the check is not in the table.
    """
    at_hand = checks_at_hand(check_table).get(check)
    if at_hand is None:
        raise ValueError(f"no check of the table is called {check!r}")
    causes, shares = normalised(probabilities)
    now = dict(zip(causes, shares.tolist(), strict=True))
    p_fail = float((shares * at_hand.p_fail_of(causes)).sum())
    confirms = [
        cause
        for cause in sorted(now, key=lambda cause: (-now[cause], cause))
        if at_hand.links.get(cause, (0.0, False))[1] and now[cause] > 0
    ]
    found = []
    for outcome, chance in (("fail", p_fail), ("pass", 1 - p_fail)):
        if chance > 0:
            left = shares * check_factors(at_hand, causes, outcome)
            after = dict(zip(causes, (left / left.sum()).tolist(), strict=True))
            order = sorted(after, key=lambda cause: (-after[cause], cause))[:SHOWN]
            moved = tuple(ShareMoved(c, now[c], after[c]) for c in order)
            would = tuple(confirms) if outcome == "fail" else ()
            words = _words(check, outcome, moved[0], would)
            found.append(OutcomeMeaning(outcome, chance, moved, would, words))
    return tuple(found)


def _words(
    check: str, outcome: str, lead: ShareMoved, confirms: tuple[str, ...]
) -> str:
    shares = f"{100 * lead.after:.0f} % (now {100 * lead.before:.0f} %)"
    first = f"{_label(lead.cause)} would lead with {shares}."
    if confirms:
        names = " or ".join(_label(cause) for cause in confirms[:SHOWN])
        beside = any(
            link.beside
            for link in check_modes()
            if link.check == check and link.mode in confirms
        )
        first += f" It would speak for {names}"
        first += "; see what must be good beside it." if beside else "."
    known = checks().get(check)
    if outcome == "fail" and known and known.gate:
        first += " No mains on this unit until it is put right and passes."
    return first


def _label(cause: str) -> str:
    known = failure_modes().get(cause)
    return known.label if known else cause
