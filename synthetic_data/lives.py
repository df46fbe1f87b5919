"""What happens to each unit: first failures, repeats, and returns without a failure."""

import dataclasses
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from synthetic_data import scenario
from synthetic_data.register import NEVER, Register, bad_cable
from synthetic_data.scenario import Floats, Integers, day_number

MOST_FAILURES = 5  # of one unit; more do not occur at these rates
MISWIRED_WITHIN_DAYS = 60  # a miswired supply shows soon after installation
CLEAR_OF_FAILURE_DAYS = 120  # a unit in the workshop is not returned once more

DISPOSITIONS = ("part_replaced", "repaired", "unit_replaced", "scrapped")
DISPOSITION_SHARES = (0.64, 0.18, 0.11, 0.07)
RETURNED_AS_FOUND = len(DISPOSITIONS)


@dataclass(frozen=True, slots=True)
class Events:
    """One entry per return, shape (k,); days are day numbers.

    `mode` indexes `scenario.mode_laws()`; `disposition` indexes DISPOSITIONS, then
    RETURNED_AS_FOUND.
    """

    unit: Integers
    mode: Integers
    failed: Integers
    received: Integers
    confirmed: Integers
    closed: Integers
    disposition: Integers

    def take(self, rows: NDArray[np.bool_] | Integers) -> "Events":
        """Return the events at these rows, in this order."""
        return Events(
            *(getattr(self, field.name)[rows] for field in dataclasses.fields(self))
        )

    def __len__(self) -> int:
        return len(self.unit)


def hazard_ratios(register: Register) -> Floats:
    """Return each unit's factor on each failure mode, shape (n, modes).

    Lot factor, times the planted ratio where the unit has the bad cable; 0 where the
    unit cannot have the mode.
    """
    laws = [law for law in scenario.mode_laws() if law.is_failure]
    ratios = np.tile(register.hazard[:, None], len(laws))
    connectors = np.array([model.connector for model in scenario.MODELS])
    connector = connectors[register.model]
    for column, law in enumerate(laws):
        if law.mode == scenario.BAD_MODE:
            ratios[bad_cable(register), column] *= scenario.BAD_HAZARD_RATIO
        if law.only == "plug":
            ratios[~register.plug, column] = 0.0
        elif law.only:
            ratios[connector != law.only, column] = 0.0
    return ratios


def draw_lives(ratios: Floats, rng: np.random.Generator) -> Floats:
    """Draw the age at which each mode would come, were it the only one.

    Parameters
    ----------
    ratios : array of float, shape (n, modes)
        Factor on the hazard of each failure mode, 0 where it cannot come.
    rng : numpy.random.Generator

    Returns
    -------
    array of float, shape (n, modes)
        Ages in days; inf where the mode cannot come.
    """
    laws = [law for law in scenario.mode_laws() if law.is_failure]
    with np.errstate(divide="ignore"):
        hazard = rng.standard_exponential(ratios.shape) / ratios
    ages = [law.life_days(hazard[:, column]) for column, law in enumerate(laws)]
    return np.column_stack(ages)


def first_failures(
    register: Register, start: Integers, rng: np.random.Generator
) -> tuple[Integers, Integers]:
    """Return the day and the mode of each unit's next failure after its start day."""
    lives = draw_lives(hazard_ratios(register), rng)
    mode = lives.argmin(axis=1)
    age = np.floor(lives[np.arange(len(register)), mode])
    day = start + np.minimum(age, 10.0**6).astype(np.int64)
    return day, mode


def history(
    register: Register,
    first_day: Integers,
    first_mode: Integers,
    rng: np.random.Generator,
) -> tuple[Events, Integers]:
    """Follow every unit from its first failure to the last day.

    A repaired unit is as new from its closing day, but for repairs that did not
    hold. A failure that nobody has received by the last day is not known yet.

    Parameters
    ----------
    register : Register
        The visible units.
    first_day, first_mode : array of int, shape (n,)
        First failure of each.
    rng : numpy.random.Generator

    Returns
    -------
    Events
        All returns received by the last day, in order of receipt.
    array of int, shape (n,)
        Day each unit left service, NEVER if it stays.
    """
    last = day_number(scenario.LAST_DAY)
    retired = register.retired.copy()
    unit = np.arange(len(register))
    day, mode = first_day, first_mode
    rounds = []
    for _ in range(MOST_FAILURES):
        seen = day <= np.minimum(retired[unit], last)
        unit, day, mode = unit[seen], day[seen], mode[seen]
        events = _handled(unit, mode, day, rng)
        rounds.append(events)
        gone = events.disposition >= DISPOSITIONS.index("unit_replaced")
        known = gone & (events.received <= last)
        # A unit in the workshop leaves service there, whatever else was planned.
        retired[unit[known]] = events.closed[known]
        unit = unit[~gone]
        day, mode = _next_failures(register, events.take(~gone), rng)
    failures = _joined(rounds)
    others = _other_returns(register, failures, retired, rng)
    events = _joined([failures, others])
    events = events.take(events.received <= last)
    order = np.lexsort((events.unit, events.failed, events.received))
    return events.take(order), np.where(retired <= last, retired, NEVER)


def _next_failures(
    register: Register, repaired: Events, rng: np.random.Generator
) -> tuple[Integers, Integers]:
    start = repaired.closed + 2
    day, mode = first_failures(register.take(repaired.unit), start, rng)
    low, high = scenario.REPAIR_FAILED_DAYS
    soon = start + rng.integers(low, high, len(repaired), endpoint=True)
    again = rng.random(len(repaired)) < scenario.SHARE_REPAIR_FAILED
    again &= soon < day
    return np.where(again, soon, day), np.where(again, repaired.mode, mode)


def _handled(
    unit: Integers, mode: Integers, day: Integers, rng: np.random.Generator
) -> Events:
    """Return the events with the days and the outcome of their handling."""
    n = len(unit)
    delay = np.rint(scenario.DELAY_DAYS * rng.beta(*scenario.DELAY_BETA, n))
    confirmed = day + delay.astype(np.int64)
    received = day + np.floor(delay * rng.uniform(0.1, 0.7, n)).astype(np.int64)
    shares = DISPOSITION_SHARES
    return Events(
        unit=unit,
        mode=mode,
        failed=day,
        received=received,
        confirmed=confirmed,
        closed=confirmed + rng.integers(0, 10, n, endpoint=True),
        disposition=rng.choice(len(shares), n, p=shares),
    )


def _other_returns(
    register: Register, failures: Events, retired: Integers, rng: np.random.Generator
) -> Events:
    """Return the returns that are no failures: at most one of a kind per unit."""
    last = day_number(scenario.LAST_DAY)
    found = []
    for index, law in enumerate(scenario.mode_laws()):
        if law.is_failure:
            continue
        wait = rng.exponential(law.scale_days, len(register))
        if law.mode == "supply_miswired":
            # At the same share of units, but within the first weeks.
            share = scenario.DAYS_PER_YEAR / law.scale_days
            soon = rng.uniform(0, MISWIRED_WITHIN_DAYS, len(register))
            wait = np.where(rng.random(len(register)) < share, soon, np.inf)
        day = register.in_service + np.minimum(wait, 10.0**6).astype(np.int64)
        unit = np.flatnonzero(
            (day >= register.registered) & (day <= np.minimum(retired, last))
        )
        found.append(_handled(unit, np.full(len(unit), index), day[unit], rng))
    others = _joined(found)
    others = others.take(_clear(others, failures))
    as_found = np.full(len(others), RETURNED_AS_FOUND)
    return dataclasses.replace(others, disposition=as_found)


def _clear(others: Events, failures: Events) -> NDArray[np.bool_]:
    """Return which returns lie well apart from any other return of their unit."""
    taken: dict[int, list[int]] = {}
    for unit, day in zip(failures.unit.tolist(), failures.failed.tolist(), strict=True):
        taken.setdefault(unit, []).append(day)
    clear = np.zeros(len(others), dtype=bool)
    pairs = zip(others.unit.tolist(), others.failed.tolist(), strict=True)
    for row, (unit, day) in enumerate(pairs):
        days = taken.setdefault(unit, [])
        clear[row] = all(abs(day - other) > CLEAR_OF_FAILURE_DAYS for other in days)
        if clear[row]:
            days.append(day)
    return clear


def _joined(parts: list[Events]) -> Events:
    return Events(
        *(
            np.concatenate([getattr(part, field.name) for part in parts])
            for field in dataclasses.fields(Events)
        )
    )
