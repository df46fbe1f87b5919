"""Early life: lots younger than six months against the same ages of older lots."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from analytics.rollup.watch_explained import Row
from analytics.rollup.watch_input import MONTHS, WatchInput
from analytics.statistics.intervals import (
    RateRatio,
    benjamini_hochberg,
    central_p_value,
    rate_ratio,
)

Bools = NDArray[np.bool_]
Lot = tuple[str, str]  # model, lot

YOUNG_MONTHS = MONTHS // 2
LEVEL = 0.05


def early_life(found: WatchInput) -> list[Row]:
    """Compare each young lot with older lots of its model, or of all models.

    Parameters
    ----------
    found : WatchInput

    Returns
    -------
    list of dict
        As `watch_early` keeps them, most raised first. A lot is young while its
        first unit came into service less than six months ago. Limits and p-value
        are exact, given the failures of both; p-values are adjusted for how many
        lots are compared (Benjamini and Hochberg). Where no older lot failed at
        those ages there is no ratio, but a lower limit and a p-value, from the days
        in service of both. Lots without anything to be compared with have neither.
    """
    fleet = found.fleet
    lots = list(zip(found.kinds["model"], found.kinds["production_lot"], strict=True))
    names = [name for name in dict.fromkeys(lots) if name[1] is not None]
    numbers = {name: number for number, name in enumerate(names)}
    of_kind = np.array([numbers.get(name, len(names)) for name in lots], dtype=np.int64)
    first = np.full(len(names) + 1, fleet.n_looks)
    np.minimum.at(first, of_kind[fleet.kind], fleet.look)
    is_young = first > fleet.n_looks - 1 - YOUNG_MONTHS
    is_young[-1] = False  # units without a lot are in none: neither young nor older
    is_old = ~is_young[of_kind] & (of_kind < len(names))
    young = [int(number) for number in np.flatnonzero(is_young)]
    compared = [_compared(found, names[n], of_kind == n, is_old) for n in young]
    known = [ratio for _, ratio in compared if ratio is not None]
    adjusted = benjamini_hochberg([float(ratio.p_value) for ratio in known]).adjusted
    after_adjusting = dict(zip(map(id, known), adjusted, strict=True))
    n_units = found.kinds["n_units"].to_numpy(dtype=np.int64)
    rows = [
        row
        | {
            "n_units": int(n_units[of_kind == number].sum()),
            "first_month": found.month(first[number]),
        }
        | _numbers(ratio, after_adjusting.get(id(ratio)))
        for number, (row, ratio) in zip(young, compared, strict=True)
    ]
    order = [1.0 if ratio is None else float(ratio.p_value) for _, ratio in compared]
    return [rows[place] for place in np.argsort(order, kind="stable")]


def _numbers(ratio: RateRatio | None, adjusted: float | None) -> Row:
    if ratio is None or adjusted is None:
        empty = ("ratio", "low", "high", "p_value", "adjusted_p")
        return {**dict.fromkeys(empty), "is_raised": False}
    return {
        "ratio": float(ratio.ratio) if np.isfinite(ratio.ratio) else None,
        "low": float(ratio.low),
        "high": float(ratio.high) if np.isfinite(ratio.high) else None,
        "p_value": float(ratio.p_value),
        "adjusted_p": float(adjusted),
        "is_raised": bool(adjusted <= LEVEL and ratio.ratio > 1),
    }


def _compared(
    found: WatchInput, lot: Lot, inside: Bools, is_old: Bools
) -> tuple[Row, RateRatio | None]:
    fleet = found.fleet
    older = is_old & np.array([model == lot[0] for model in found.kinds["model"]])
    compared_with = "model"
    if not older.any():
        older, compared_with = is_old, "all"
    (days, n_by_age), (days_older, n_older_by_age) = (
        (
            np.bincount(
                fleet.age[chosen[fleet.kind]],
                fleet.exposure[chosen[fleet.kind]],
                fleet.n_ages,
            ),
            np.bincount(
                fleet.failure_age[chosen[fleet.failure_kind]], minlength=fleet.n_ages
            ),
        )
        for chosen in (inside, older)
    )
    # Only ages that the young lot has reached and older lots went through.
    shared = (days > 0) & (days_older > 0)
    n_failed, n_older = int(n_by_age[shared].sum()), int(n_older_by_age[shared].sum())
    expected = float((n_older_by_age[shared] / days_older[shared] * days[shared]).sum())
    row: Row = {
        "model": lot[0],
        "lot": lot[1],
        "n_failed": n_failed,
        "expected": expected,
        "n_older": n_older,
        "compared_with": compared_with,
    }
    if expected:
        return row, _ratio(n_failed, expected, n_older, float(n_older))
    if not n_failed:
        return row, None
    # None of the older ones failed: no rate by age, but the days of both count.
    return row, _ratio(
        n_failed, float(days[shared].sum()), 0, float(days_older[shared].sum())
    )


def _ratio(n: int, expected: float, n_older: int, expected_older: float) -> RateRatio:
    """Return the ratio with a p-value of the same kind as its interval."""
    counts = (n, expected, n_older, expected_older)
    return replace(rate_ratio(*counts), p_value=central_p_value(*counts))
