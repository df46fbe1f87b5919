"""Fleets drawn from known laws, counted at whole-day ages as the database counts them.

Whole days: a unit goes into service and fails at some hour of a day, and its age is the
difference of the two dates. A life of 100.3 days is then 100 days in 70 of 100 cases
and 101 in 30: right on average, and 0 for a failure on the first day.

Observation: units are sold evenly over `sold_over` days up to the day the data speak
for, and followed to that day or to the end of the term. A unit registered late is seen
from the day after its registration; one that failed by then is not seen at all.
"""

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from scipy import stats

from analytics.statistics.counts import Counts, Floats
from analytics.statistics.delays import delay_curve

YEAR = 365
ENOUGH_DELAYS = 20  # fewer do not fix a 95 % point: none is taken off
# Days from a failure to its report, and from there to its confirmation.
TO_REPORT, TO_CONFIRM = stats.gamma(2, scale=6), stats.gamma(4, scale=5)


@dataclass(frozen=True, slots=True)
class Fleet:
    """Counts of one fleet: what the statistics take."""

    age: Floats  # (k,), distinct
    n_failed: Counts  # (k, m): a column per mode or group
    n_censored: Counts  # (k, m): a column per group, else one
    entry_age: Floats | None = None
    n_entered: Counts | None = None  # (j, m): a column per group, else one
    lower: Floats | None = None  # failures known to lie in (lower, upper]
    upper: Floats | None = None

    @property
    def total_failed(self) -> int:
        n_between = 0 if self.lower is None else len(self.lower)
        return int(self.n_failed.sum()) + n_between

    def entries(self) -> dict[str, Any]:
        if self.entry_age is None or self.n_entered is None:
            return {}
        n_entered = self.n_entered
        single = n_entered[:, 0] if n_entered.shape[1] == 1 else n_entered
        return {"entry_age": self.entry_age, "n_entered": single}

    def for_curves(self) -> tuple[Floats, Counts, Counts]:
        return self.age, self.n_failed.sum(axis=1), self.n_censored.sum(axis=1)

    def for_laws(self) -> tuple[tuple[Floats, Counts, Counts], dict[str, Any]]:
        """Return the arguments of a fit: failures on day 0 are in (0, 1]."""
        age, failed, censored = self.for_curves()
        at_zero = age == 0
        n_at_zero = int(failed[at_zero].sum())
        counts = age, np.where(at_zero, 0, failed), censored
        if self.lower is not None and self.upper is not None:
            return counts, {"lower": self.lower, "upper": self.upper}
        if not n_at_zero:
            return counts, self.entries()
        bracket = {"lower": [0.0], "upper": [1.0], "n_interval": [n_at_zero]}
        return counts, bracket | self.entries()


@dataclass(frozen=True, slots=True)
class Plan:
    """How a fleet is drawn."""

    law: Any  # a frozen distribution of scipy.stats, in days
    n_units: int
    sold_over: int = 3 * YEAR
    term: int | None = None  # failures are seen up to this age
    late_share: float = 0.0  # registered up to a year after they went into service
    whole_days: bool = True
    # Reports take time; the end of observation is brought back for that, or not.
    delay: Literal["corrected", "uncorrected"] | None = None

    def expected(self, age: float) -> tuple[float, float]:
        """Return failures seen by an age and units at risk at it, late entry aside."""
        follow = np.arange(self.sold_over + 1)
        last = follow if self.term is None else np.minimum(follow, self.term)
        n_failed = self.law.cdf(np.minimum(last, age)).mean()
        return self.n_units * n_failed, self.n_units * (
            last > age
        ).mean() * self.law.sf(age)


def dated(life: Floats, rng: np.random.Generator) -> Floats:
    """Return the difference of the dates of two moments so many days apart."""
    return np.floor(life + rng.random(len(life)))


def draw(plan: Plan, rng: np.random.Generator) -> Fleet:
    follow = _follow(plan.n_units, plan.sold_over, rng)
    life = plan.law.rvs(plan.n_units, random_state=rng)
    life = dated(life, rng) if plan.whole_days else life
    if plan.delay is not None:
        return _known_late(life, follow, plan.delay, rng)
    last = follow if plan.term is None else np.minimum(follow, plan.term)
    entry = _registered(plan, rng)
    is_seen = (entry == 0) | ((life > entry) & (last >= entry))
    is_failed = life <= last
    end = np.where(is_failed, life, last)
    return counted(end[is_seen], np.where(is_failed, 0, -1)[is_seen], entry[is_seen])


def draw_modes(laws: list[Any], n_units: int, rng: np.random.Generator) -> Fleet:
    """Return a fleet whose units fail by whichever mode comes first."""
    follow = _follow(n_units, 3 * YEAR, rng)
    lives = np.stack([law.rvs(n_units, random_state=rng) for law in laws])
    mode, life = lives.argmin(axis=0), dated(lives.min(axis=0), rng)
    is_failed = life <= follow
    end = np.where(is_failed, life, follow)
    return counted(end, np.where(is_failed, mode, -1), n_columns=len(laws))


def draw_groups(
    plans: list[Plan], rng: np.random.Generator, *, other: Any = None
) -> Fleet:
    """Return groups side by side; `other` is the law of a mode that competes.

    With a competing mode `n_failed` holds the failures of the groups by the mode
    compared, then those by the other.
    """
    ends, columns, entries, groups = [], [], [], []
    for group, plan in enumerate(plans):
        follow = _follow(plan.n_units, plan.sold_over, rng)
        life = plan.law.rvs(plan.n_units, random_state=rng)
        column = np.full(plan.n_units, group)
        if other is not None:
            rival = other.rvs(plan.n_units, random_state=rng)
            column = np.where(rival < life, group + len(plans), group)
            life = np.minimum(life, rival)
        life, entry = dated(life, rng), _registered(plan, rng)
        is_seen = (entry == 0) | ((life > entry) & (follow >= entry))
        is_failed = life <= follow
        ends.append(np.where(is_failed, life, follow)[is_seen])
        columns.append(np.where(is_failed, column, -1)[is_seen])
        entries.append(entry[is_seen])
        groups.append(np.full(int(is_seen.sum()), group))
    return counted(
        np.concatenate(ends),
        np.concatenate(columns),
        np.concatenate(entries),
        n_columns=len(plans) * (1 if other is None else 2),
        group=np.concatenate(groups),
    )


def draw_visited(plan: Plan, rng: np.random.Generator, *, every: int = 90) -> Fleet:
    """Return a fleet whose failures show at a visit, every so many days.

    The first visit comes at any day of a round. Failures lie between the visit before
    and the one that finds them; units are followed to their last visit.
    """
    follow = _follow(plan.n_units, plan.sold_over, rng)
    life = dated(plan.law.rvs(plan.n_units, random_state=rng), rng)
    first = rng.integers(1, every + 1, plan.n_units)
    n_visits = np.where(follow >= first, (follow - first) // every + 1, 0)
    last = np.where(n_visits > 0, first + (n_visits - 1) * every, 0)
    is_failed = life <= last
    found = first + np.ceil(np.maximum(life - first, 0) / every) * every
    before = np.maximum(found - every, 0)
    survivors = counted(last[~is_failed], np.full(int((~is_failed).sum()), -1))
    return Fleet(
        age=survivors.age,
        n_failed=survivors.n_failed,
        n_censored=survivors.n_censored,
        lower=before[is_failed],
        upper=found[is_failed],
    )


def counted(
    end: Floats,
    column: Counts,
    entry: Floats | None = None,
    *,
    n_columns: int = 1,
    group: Counts | None = None,
) -> Fleet:
    """Return the counts of units that end at an age; column -1: still working."""
    ages, where = np.unique(end, return_inverse=True)
    n_groups = 1 if group is None else int(group.max()) + 1
    group = np.zeros(len(end), dtype=int) if group is None else group
    is_failed = column >= 0
    failed = np.zeros((len(ages), n_columns), dtype=np.int64)
    np.add.at(failed, (where[is_failed], column[is_failed]), 1)
    censored = np.zeros((len(ages), n_groups), dtype=np.int64)
    np.add.at(censored, (where[~is_failed], group[~is_failed]), 1)
    if entry is None or not entry.any():
        return Fleet(ages, failed, censored)
    entry_ages, entered_at = np.unique(entry, return_inverse=True)
    entered = np.zeros((len(entry_ages), n_groups), dtype=np.int64)
    np.add.at(entered, (entered_at, group), 1)
    return Fleet(ages, failed, censored, entry_ages, entered)


def _follow(n_units: int, sold_over: int, rng: np.random.Generator) -> Counts:
    """Return how many days each unit has been in service by the last day."""
    return rng.integers(0, sold_over + 1, n_units)


def _registered(plan: Plan, rng: np.random.Generator) -> Floats:
    is_late = rng.random(plan.n_units) < plan.late_share
    return np.where(is_late, rng.integers(1, YEAR + 1, plan.n_units), 0).astype(float)


def _known_late(
    life: Floats, follow: Counts, delay: str, rng: np.random.Generator
) -> Fleet:
    """Return what is known of the lives on the last day (METHODS: observation end).

    A failure counts from its confirmation on. One reported but not confirmed is an open
    case, censored where it failed; of one not yet reported nothing is known.
    """
    report = TO_REPORT.rvs(len(life), random_state=rng)
    whole = np.ceil(report + TO_CONFIRM.rvs(len(life), random_state=rng))
    since_failure = follow - life
    is_reported = since_failure >= np.ceil(report)
    is_confirmed = since_failure >= whole
    brought_back = 0.0
    if delay == "corrected":
        is_recent = is_confirmed & (since_failure - np.ceil(report) < YEAR)
        if is_recent.sum() >= ENOUGH_DELAYS:
            curve = delay_curve(whole[is_recent], since_failure[is_recent])
            brought_back = curve.quantile(0.95)
    last = follow - brought_back
    ends_there = is_reported & (life <= last)
    end = np.where(ends_there, life, last)
    column = np.where(ends_there & is_confirmed, 0, -1)
    return counted(end[last >= 0], column[last >= 0])
