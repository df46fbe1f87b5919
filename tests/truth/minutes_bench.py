"""A bench on which each check fails as drawn, and the ways to choose the next one.

Every rule works on the same returns with the same draws: whether a check fails does not
depend on when it is done. A cause is confirmed by a fail at a check that confirms it; a
fail that confirms another cause is taken apart at no cost and found to be none of it. A
gate check that failed so counts as passed. The bench refuses what is not safe.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Protocol

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.advice.check_information import NOT_ISOLATED
from analytics.advice.check_table import default_check_table
from analytics.advice.checks_at_hand import (
    BARRED,
    PROVED_DEAD,
    RECORDS_ONLY,
    CheckAtHand,
    checks_at_hand,
)
from analytics.advice.first_check import (
    SET_UP_MINUTES,
    next_check,
    update_probabilities,
)
from ingest.catalogue import failure_modes

Floats = NDArray[np.float64]
LEFT_OF_IT = 0.03  # of causes whose check failed, and was taken apart for nothing
Causes = Mapping[str, float]
Unit = tuple[tuple[str, object], ...]  # facts of the unit, as pairs


@dataclass(frozen=True, slots=True)
class Checks:
    """What can be done on one kind of unit, and what the advice believes of it."""

    table: pd.DataFrame
    at_hand: Mapping[str, CheckAtHand]
    causes: list[str]
    p_fail: dict[str, Floats]
    confirms: dict[str, NDArray[np.bool_]]

    @property
    def gate(self) -> list[str]:
        return [code for code, check in self.at_hand.items() if check.gate]

    def confirming(self, cause: str) -> list[str]:
        column = self.causes.index(cause)
        return [code for code in self.at_hand if self.confirms[code][column]]


@cache
def checks_of(unit: Unit) -> Checks:
    """Return the checks of a unit; causes are those that some check confirms."""
    table = default_check_table(dict(unit))
    at_hand = checks_at_hand(table)
    causes = list(failure_modes())
    return Checks(
        table=table,
        at_hand=at_hand,
        causes=causes,
        p_fail={code: check.p_fail_of(causes) for code, check in at_hand.items()},
        confirms={code: check.confirms_of(causes) for code, check in at_hand.items()},
    )


@dataclass(slots=True)
class Bench:
    """One return on the bench; `fails` are the checks that fail whenever done."""

    checks: Checks
    cause: str
    fails: frozenset[str]
    minutes: float = 0.0
    outcomes: dict[str, str] = field(default_factory=dict)
    proved: bool = False
    energised: bool = False
    live_begun: bool = False
    confirmed: bool = False

    @property
    def done(self) -> dict[str, str]:
        """Outcomes as the gate is told them."""
        return {
            code: "pass" if self.checks.at_hand[code].gate else outcome
            for code, outcome in self.outcomes.items()
        }

    def do(self, code: str) -> None:
        """Do one check, and see whether it confirms the cause."""
        check = self.checks.at_hand[code]
        if not self._is_safe(check):
            raise ValueError(f"{code} is not safe after {self.outcomes}")
        is_live = check.hazard == BARRED
        if is_live and not self.live_begun:
            self.minutes += SET_UP_MINUTES
            self.live_begun = True
        self.energised = is_live or (self.energised and code == RECORDS_ONLY)
        self.proved = self.proved or code == PROVED_DEAD
        self.minutes += check.minutes
        confirms = self.checks.confirms[code]
        failed = code in self.fails
        bad = NOT_ISOLATED if confirms.any() else "fail"
        self.outcomes[code] = bad if failed else "pass"
        of_cause = confirms[self.checks.causes.index(self.cause)]
        self.confirmed = self.confirmed or bool(failed and of_cause)

    def _is_safe(self, check: CheckAtHand) -> bool:
        if check.code in (PROVED_DEAD, RECORDS_ONLY):
            return True
        if not self.proved or any(
            self.done.get(code) != "pass" for code in check.needs
        ):
            return False
        if check.hazard == BARRED:
            return all(code in self.outcomes for code in self.checks.gate)
        return not self.energised

    def first(self, code: str) -> list[str]:
        """Return what must be done before a check, in the order of the catalogue."""
        check = self.checks.at_hand[code]
        if code in (PROVED_DEAD, RECORDS_ONLY):
            return []
        wanted = set(check.needs)
        if check.hazard == BARRED:
            wanted |= set(self.checks.gate)
        for needed in tuple(wanted):
            wanted |= set(self.checks.at_hand[needed].needs)
        left = [
            other
            for other in self.checks.at_hand
            if other in wanted and other not in self.outcomes
        ]
        must_prove = not self.proved or (
            self.energised and (bool(left) or check.hazard != BARRED)
        )
        left = [other for other in left if other != PROVED_DEAD]
        return [PROVED_DEAD, *left] if must_prove else left

    def reach(self, code: str) -> None:
        """Do what must come before, then the check; stop where the cause is found."""
        for step in [*self.first(code), code]:
            if not self.confirmed:
                self.do(step)

    def left(self, cause: str) -> list[str]:
        return [c for c in self.checks.confirming(cause) if c not in self.outcomes]


class Rule(Protocol):
    def __call__(self, bench: Bench, intake: Causes) -> None:
        """Work on a case until its cause is confirmed or no check is left."""


def fixed_order(bench: Bench, intake: Causes) -> None:
    """All checks in the order of the catalogue, whatever the intake says."""
    del intake
    for code in bench.checks.at_hand:
        if not bench.confirmed and code not in bench.outcomes:
            bench.reach(code)


def top_first(bench: Bench, intake: Causes) -> None:
    """The surest check of the likeliest cause by the intake, then of the next."""
    _top_first(bench, intake, _surest, updated=False)


def top_first_updated(bench: Bench, intake: Causes) -> None:
    """The same, with the probabilities brought up to date after each check."""
    _top_first(bench, intake, _surest, updated=True)


def top_first_quick(bench: Bench, intake: Causes) -> None:
    """As before, but of the checks of the likeliest cause the best for its minutes."""
    _top_first(bench, intake, _per_minute, updated=True)


def told_the_cause(bench: Bench, intake: Causes) -> None:
    """The confirming checks of the true cause alone: nobody can do better."""
    del intake
    _top_first(bench, {bench.cause: 1.0}, _per_minute, updated=False)


Merit = Callable[[Bench, str, str], tuple[float, float]]


def _top_first(bench: Bench, intake: Causes, merit: Merit, *, updated: bool) -> None:
    while not bench.confirmed:
        now = updated_by_hand(bench, intake) if updated else intake
        ranked = sorted(now, key=lambda cause: -now[cause])
        cause = next((c for c in ranked if bench.left(c)), None)
        if cause is None:
            return
        merits = {code: merit(bench, code, cause) for code in bench.left(cause)}
        bench.reach(max(merits, key=lambda code: merits[code]))


def _surest(bench: Bench, code: str, cause: str) -> tuple[float, float]:
    column = bench.checks.causes.index(cause)
    chance = float(bench.checks.p_fail[code][column])
    return chance, -bench.checks.at_hand[code].minutes


def _per_minute(bench: Bench, code: str, cause: str) -> tuple[float, float]:
    at_hand = bench.checks.at_hand
    minutes = sum(at_hand[step].minutes for step in [*bench.first(code), code])
    if at_hand[code].hazard == BARRED and not bench.live_begun:
        minutes += SET_UP_MINUTES
    chance, less = _surest(bench, code, cause)
    return chance / minutes, less


def updated_by_hand(bench: Bench, intake: Causes) -> dict[str, float]:
    """Return the causes after the outcomes: Bayes' rule, written out once more."""
    p = np.array([intake.get(cause, 0.0) for cause in bench.checks.causes])
    for code, outcome in bench.outcomes.items():
        chance = bench.checks.p_fail[code]
        if outcome == "pass":
            p = p * (1 - chance)
        elif outcome == NOT_ISOLATED:
            p = p * np.where(bench.checks.confirms[code], LEFT_OF_IT, chance)
        else:
            p = p * chance
    return dict(zip(bench.checks.causes, (p / p.sum()).tolist(), strict=True))


def advised(bench: Bench, intake: Causes) -> None:
    """The check that `next_check` puts first, each time."""
    while not bench.confirmed:
        now = update_probabilities(intake, bench.checks.table, bench.outcomes)
        listed = next_check(
            now,
            bench.checks.table,
            done=bench.done,
            proved_safe=bench.proved,
            energised=bench.energised,
        )
        best = next((item for item in listed if not item.blocked_by), None)
        if best is None:
            return
        bench.do(best.check)
