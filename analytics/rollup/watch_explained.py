"""What the cases of an alarm share: which supplier, lot, model or revision."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.rollup.watch_input import FIELDS, WatchInput
from analytics.statistics.best_explained import BestSplit, best_split, splits
from analytics.statistics.intervals import binomial_interval, rate_ratio

Row = dict[str, object]
Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Bools = NDArray[np.bool_]

# Twenty times as likely, once the number of values has been paid for: a word is said.
STANDS_OUT = float(np.log(20))


@dataclass(frozen=True, slots=True, eq=False)
class Excess:
    """First failures of some modes in some months, by kind of unit.

    Attributes
    ----------
    n_failures : array of int, shape (kinds,)
    n_expected : array of float, shape (kinds,)
        By age and mode, as in the whole fleet.
    """

    n_failures: Integers
    n_expected: Floats


def excess(
    found: WatchInput, modes: Sequence[str], first_look: int, last_look: int
) -> Excess:
    """Count the failures of some modes from one look to another, both included.

    Parameters
    ----------
    found : WatchInput
    modes : sequence of str
        Codes; those that nobody saw are ignored.
    first_look, last_look : int

    Returns
    -------
    Excess
    """
    fleet = found.fleet
    chosen = np.isin(fleet.failure_mode, _numbers(found, modes))
    per_day = np.bincount(fleet.failure_age[chosen], minlength=fleet.n_ages) / (
        np.maximum(np.bincount(fleet.age, fleet.exposure, fleet.n_ages), 1e-9)
    )
    inside = (fleet.look >= first_look) & (fleet.look <= last_look)
    expected = np.bincount(
        fleet.kind[inside],
        (fleet.exposure * per_day[fleet.age])[inside],
        fleet.n_kinds,
    )
    chosen &= (fleet.failure_look >= first_look) & (fleet.failure_look <= last_look)
    return Excess(
        n_failures=np.bincount(fleet.failure_kind[chosen], minlength=fleet.n_kinds),
        n_expected=np.asarray(expected, dtype=np.float64),
    )


def _numbers(found: WatchInput, modes: Sequence[str]) -> Integers:
    return np.flatnonzero(np.isin(found.modes, list(modes)))


def comparison(
    found: WatchInput,
    seen: Excess,
    own: tuple[str, str | None] | None = None,
    fields: Sequence[str] = FIELDS,
) -> list[Row]:
    """Return one value of each dimension, the one that explains the excess best first.

    Parameters
    ----------
    found : WatchInput
    seen : Excess
    own : (dimension, value), optional
        That of the alarm: it speaks for its dimension, whatever others show.
    fields : sequence of str, optional
        The dimensions that may bear on the failure at all.

    Returns
    -------
    list of dict
        As `watch_comparison` keeps them, without the alarm. A dimension none of
        whose values stands above the others has no row.
    """
    everywhere = np.ones(found.fleet.n_kinds, dtype=bool)
    chosen = sorted(
        _splits(found, seen, everywhere, fields, own), key=lambda split: -split[1].gain
    )
    if not chosen:
        return []
    in_best = _has(found, chosen[0][0], chosen[0][2])
    further = {
        dimension: (split, value)
        for dimension, split, value in _splits(found, seen, in_best, fields)
    }
    return [
        _row(dimension, split, value)
        | {"is_best": number == 0, "is_own": (dimension, value) == own}
        | _beside(found, seen, dimension, value, in_best)
        | _further(*further.get(dimension, (None, None)))
        for number, (dimension, split, value) in enumerate(chosen)
    ]


def _splits(
    found: WatchInput,
    seen: Excess,
    where: Bools,
    fields: Sequence[str],
    own: tuple[str, str | None] | None = None,
) -> Iterator[tuple[str, BestSplit, str | None]]:
    # A yield a dimension: its name, the split, and the value that is split off.
    for dimension in fields:
        values, numbers = found.values[dimension]
        counts = (
            np.bincount(numbers[where], seen.n_failures[where], len(values)),
            np.bincount(numbers[where], seen.n_expected[where], len(values)),
        )
        split = best_split(*counts)
        if own is not None and own[0] == dimension and own[1] in values:
            of_own = splits(*counts)[values.index(own[1])]
            split = of_own if of_own is not None and of_own.stands_out else split
        if split is not None:
            yield dimension, split, values[split.value]


def _row(dimension: str, split: BestSplit, value: str | None) -> Row:
    ratio = rate_ratio(
        split.n_inside,
        split.expected_inside,
        split.n_outside,
        split.expected_outside,
    )
    return {
        "dimension": dimension,
        "value": value,
        "n_cases": split.n_inside,
        "expected": split.expected_inside,
        "n_rest": split.n_outside,
        "expected_rest": split.expected_outside,
        "ratio": float(ratio.ratio),
        "low": float(ratio.low),
        "high": float(ratio.high),
        "gain": split.gain,
    }


def _has(found: WatchInput, dimension: str, value: str | None) -> Bools:
    values, numbers = found.values[dimension]
    number = values.index(value) if value in values else -1
    has: Bools = numbers == number
    return has


def _beside(
    found: WatchInput,
    seen: Excess,
    dimension: str,
    value: str | None,
    in_best: Bools,
) -> Row:
    beside = _has(found, dimension, value) & ~in_best
    return {
        "n_beside": int(seen.n_failures[beside].sum()),
        "expected_beside": float(seen.n_expected[beside].sum()),
    }


def _further(split: BestSplit | None, value: str | None) -> Row:
    stands_out = split is not None and split.gain > STANDS_OUT
    known = split if stands_out else None
    return {
        "further": value if known else None,
        "n_further": known.n_inside if known else None,
        "expected_further": known.expected_inside if known else None,
    }


def lots(found: WatchInput, seen: Excess, model: str | None) -> list[Row]:
    """Return the lots of a model, each against the model's others, worst first.

    Parameters
    ----------
    found : WatchInput
    seen : Excess
    model : str or None

    Returns
    -------
    list of dict
        As `watch_lots` keeps them, without the alarm; lots that expect nothing and
        had nothing are left out.
    """
    of_model = _has(found, "model", model)
    values, numbers = found.values["production_lot"]
    n = np.bincount(numbers[of_model], seen.n_failures[of_model], len(values)).astype(
        np.int64
    )
    expected = np.bincount(numbers[of_model], seen.n_expected[of_model], len(values))
    some = np.flatnonzero(expected > 0)
    ratio, low, high = _ratio_to_rest(
        n[some], np.asarray(expected[some], dtype=np.float64)
    )
    rows: list[Row] = [
        {
            "lot": values[number],
            "n_cases": int(n[number]),
            "expected": float(expected[number]),
            "ratio": _known(ratio[place]),
            "low": _known(low[place]),
            "high": _known(high[place]),
        }
        for place, number in enumerate(some)
    ]
    return sorted(rows, key=lambda row: (-float(str(row["low"] or 0)), str(row["lot"])))


def _ratio_to_rest(n: Integers, expected: Floats) -> tuple[Floats, Floats, Floats]:
    """Return the ratio of each rate to that of all others, with exact limits.

    Given all failures, those of one are binomial; nan where there is no other.
    """
    rest = expected.sum() - expected
    n_rest = n.sum() - n
    low, high = binomial_interval(n, n + n_rest, method="clopper-pearson")
    with np.errstate(divide="ignore", invalid="ignore"):
        per_odds = np.where(rest > 1e-9 * expected.sum(), rest, np.nan) / expected
        limits = (limit / (1 - limit) * per_odds for limit in (low, high))
        return n / n_rest * per_odds, *limits


def _known(number: float) -> float | None:
    return None if np.isnan(number) else float(number)
