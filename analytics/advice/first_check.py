"""Which check next: the chance to confirm a cause, per minute, behind a safety gate.

Checks are ranked by the chance that they confirm a cause divided by the minutes they
take, the minutes of what must come first included (ratio rule of troubleshooting,
Heckerman, Breese and Rommelse 1995, from memory). Safety is a filter and no score: a
live check is not in the list at all until every gate check has passed and the unit is
proved dead, however likely the cause it would confirm.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from analytics.advice.check_information import (
    expected_information,
    normalised,
    update_probabilities,
)
from analytics.advice.checks_at_hand import (
    BARRED,
    PROVED_DEAD,
    RECORDS_ONLY,
    CheckAtHand,
    CheckTable,
    checks_at_hand,
)

__all__ = [
    "RankedCheck",
    "expected_information",
    "next_check",
    "update_probabilities",
]

# Barrier, switch box and protected supply before the first live check of a case;
# common practice, no source.
SET_UP_MINUTES = 10.0
# Outcomes after which a check is offered again: it has not been finished.
UNFINISHED = ("incomplete",)
# A gate check is offered again until it has passed or failed.
UNSETTLED = ("not_done", "undefined", "incomplete")


@dataclass(frozen=True, slots=True)
class RankedCheck:
    """One check in the order it is advised.

    `minutes` are those of the check alone, `minutes_before` those of what must come
    first (gate checks, set-up); `confirm_per_minute` and `bits_per_minute` divide by
    both. For a check that isolates a fault, `confirm_probability` is the chance that
    the fault is one it would settle. `blocked_by` holds the checks that must pass
    first, and is empty for a check that can be done now. `opens` is the check that one
    put first leads to.
    """

    check: str
    confirm_probability: float
    minutes: float
    confirm_per_minute: float
    bits: float
    bits_per_minute: float
    hazard: str
    blocked_by: tuple[str, ...]
    minutes_before: float
    opens: str | None


@dataclass(frozen=True, slots=True)
class _Work:
    """What has been done on the case, as far as it decides what comes next."""

    outcomes: Mapping[str, str]
    not_again: frozenset[str]
    proved: bool
    energised: bool
    gate_left: tuple[str, ...]
    gate_failed: bool
    live_begun: bool
    isolations: Mapping[str, Iterable[str]]


def next_check(
    probabilities: Mapping[str, float],
    check_table: CheckTable,
    *,
    done: Mapping[str, str] | Iterable[str] = (),
    proved_safe: bool = False,
    energised: bool = False,
    isolations: Mapping[str, Iterable[str]] = MappingProxyType({}),
) -> list[RankedCheck]:
    """Rank the checks that may be done next, best first.

    Parameters
    ----------
    probabilities : mapping of str to float
        Probability of each cause; need not sum to 1.
    check_table : DataFrame or ChecksAtHand
        One row per check and cause: check, cause, p_fail, confirms, minutes, hazard,
        gate and optionally needs (checks that must have passed, `;` between). A
        check that bears on no cause has one row with an empty cause. Or such a table
        as `checks_at_hand` has read it, which saves reading it again.
    done : mapping of str to str, or iterable of str
        Check to its last outcome over all points; a plain sequence only says what
        is not to be offered again, and opens no gate.
    proved_safe : bool
        The technician's word that the last outcome of proved_dead is pass and
        nothing has reset it.
    energised : bool
        A live check was begun since: live checks may go on, every other one waits
        for proved_dead again.
    isolations : mapping of str to iterable of str
        Checks that must be seen beside one that has failed, each with the causes it
        would settle, as `bench_state` gives them. They come before all others of
        their kind, also where they were done at another point; no safety rule gives
        way to them.

    Returns
    -------
    list of RankedCheck
        Free checks first, then those that wait, with `blocked_by` filled. No live
        check is in it before every gate check of the table has passed and
        `proved_safe` holds; without a gate check in the table none ever is.

    Raises
    ------
    ValueError
        If the table lacks a column or holds something impossible.
    """
    causes, shares = normalised(probabilities)
    at_hand = checks_at_hand(check_table)
    work = _work(
        at_hand, done, proved=proved_safe, energised=energised, isolations=isolations
    )
    ranked = [
        _ranked(check, causes, shares, at_hand, work)
        for check in at_hand.values()
        if check.code not in work.not_again
    ]
    ranked.sort(key=lambda item: (item.check not in isolations, *_order(item)))
    lead = _lead(ranked, at_hand, work)
    listed = [item for item in ranked if at_hand[item.check].hazard != BARRED]
    if not work.gate_left and work.proved and any(c.gate for c in at_hand.values()):
        listed = ranked
    # A sort keeps the order of equals: what leads, then what is free, then the rest.
    listed.sort(key=lambda item: (bool(item.blocked_by), item.check not in lead))
    return [replace(item, opens=lead.get(item.check)) for item in listed]


def _work(
    at_hand: Mapping[str, CheckAtHand],
    done: Mapping[str, str] | Iterable[str],
    *,
    proved: bool,
    energised: bool,
    isolations: Mapping[str, Iterable[str]],
) -> _Work:
    outcomes: Mapping[str, str] = done if isinstance(done, Mapping) else {}
    finished = set(done)
    gates = [check.code for check in at_hand.values() if check.gate]
    left = tuple(code for code in gates if outcomes.get(code) != "pass")
    # proved_safe is the technician's word; an outcome that says otherwise wins.
    proved = proved and outcomes.get(PROVED_DEAD, "pass") == "pass"
    if isinstance(done, Mapping):
        finished -= {c for c, outcome in done.items() if outcome in UNFINISHED}
        finished -= {code for code in gates if outcomes.get(code) in UNSETTLED}
        if not proved or energised:
            finished -= {PROVED_DEAD}
        begun = finished
        finished = finished - set(isolations)
    else:
        begun = finished
    return _Work(
        outcomes=outcomes,
        not_again=frozenset(finished),
        proved=proved,
        energised=energised,
        gate_left=left,
        gate_failed=any(outcomes.get(c, "").startswith("fail") for c in left),
        live_begun=energised
        or any(c in at_hand and at_hand[c].hazard == BARRED for c in begun),
        isolations=isolations,
    )


def _ranked(
    check: CheckAtHand,
    causes: list[str],
    shares: npt.NDArray[np.float64],
    at_hand: Mapping[str, CheckAtHand],
    work: _Work,
) -> RankedCheck:
    p_fail, confirms = check.p_fail_of(causes), check.confirms_of(causes)
    confirm = float((shares * p_fail)[confirms].sum())
    if check.code in work.isolations:
        settled = set(work.isolations[check.code])
        confirm = float(shares[[cause in settled for cause in causes]].sum())
    # Outcomes: pass, a fail that confirms nothing, a fail that confirms each cause.
    confirming = np.eye(len(causes))[confirms] * p_fail
    unconfirmed = np.where(confirms, 0.0, p_fail)
    bits = expected_information(shares, [1 - p_fail, unconfirmed, *confirming])
    before = _minutes_before(check, at_hand, work)
    minutes = check.minutes + before
    return RankedCheck(
        check=check.code,
        confirm_probability=confirm,
        minutes=check.minutes,
        confirm_per_minute=confirm / minutes,
        bits=bits,
        bits_per_minute=bits / minutes,
        hazard=check.hazard,
        blocked_by=_blocked_by(check, work),
        minutes_before=before,
        opens=None,
    )


def _minutes_before(
    check: CheckAtHand, at_hand: Mapping[str, CheckAtHand], work: _Work
) -> float:
    if check.hazard == BARRED:
        before = sum(at_hand[code].minutes for code in work.gate_left)
        return before + (0.0 if work.live_begun else SET_UP_MINUTES)
    waits = not work.proved or work.energised
    if waits and check.code not in (PROVED_DEAD, RECORDS_ONLY):
        return at_hand[PROVED_DEAD].minutes if PROVED_DEAD in at_hand else 0.0
    return 0.0


def _blocked_by(check: CheckAtHand, work: _Work) -> tuple[str, ...]:
    if check.code == PROVED_DEAD:
        return ()
    missing = [code for code in check.needs if work.outcomes.get(code) != "pass"]
    if check.hazard != BARRED and work.energised:
        return tuple(dict.fromkeys([PROVED_DEAD, *missing]))
    if not work.proved and check.code != RECORDS_ONLY:
        return tuple(dict.fromkeys([PROVED_DEAD, *missing]))
    return tuple(missing)


def _order(item: RankedCheck) -> tuple[float, float, bool, str]:
    live = item.hazard == BARRED
    return (-item.confirm_per_minute, -item.bits_per_minute, live, item.check)


def _lead(
    ranked: list[RankedCheck], at_hand: Mapping[str, CheckAtHand], work: _Work
) -> dict[str, str | None]:
    """Return the check to put first by rule, with the check it leads to.

    While proved_dead is wanted it is proved_dead, unless the records come first on
    merit, or the unit is energised and the best check may go on live. A check that
    isolates a fault is the best there is. When the best is live and the gate is open
    work, it is the best gate check that is free; when the best needs another check, it
    is that one. A check that waits for something that is not on offer is not the best
    of anything.
    """
    offered = {item.check for item in ranked}
    shut = work.gate_failed or not any(check.gate for check in at_hand.values())
    best = next(
        (
            item
            for item in ranked
            if offered.issuperset(item.blocked_by)
            and not (shut and item.hazard == BARRED)
        ),
        None,
    )
    if best is None or best.check == RECORDS_ONLY:
        return {}
    live = best.hazard == BARRED
    wanted = best.check if live and work.gate_left else None
    if not work.proved or (work.energised and (wanted or not live)):
        isolates = best.check if best.check in work.isolations else None
        return {PROVED_DEAD: wanted or isolates}
    if best.blocked_by:
        return {best.blocked_by[0]: best.check}
    gates = [i.check for i in ranked if at_hand[i.check].gate and not i.blocked_by]
    return {gates[0]: wanted} if wanted and gates else {}
