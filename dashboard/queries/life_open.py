"""A second fit beside the first: open cases counted as what they may turn out to be."""

import numpy as np
from numpy.typing import NDArray

from analytics.errors import InsufficientDataError
from analytics.statistics.distributions import Distribution, LifeFit
from dashboard import text
from dashboard.queries.answer import Row
from dashboard.queries.life_ages import MONTH_3, YEAR
from dashboard.queries.life_laws import B10, age_of, stated
from dashboard.queries.life_left_out import Counts
from dashboard.queries.life_lives import Lives, fit_of

MANY = 0.05  # of the cases; from here on the second fit is shown in any case
PIECES = (0, MONTH_3, YEAR, 2 * YEAR, 3 * YEAR, 5 * YEAR)  # cases of like age
ENOUGH_CLOSED = 20  # fewer in a piece: the share over all ages stands in

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def with_open_cases(
    lives: Lives,
    fit: LifeFit,
    distribution: Distribution,
    counts: Counts,
) -> Row | None:
    """Return the fit with open cases counted by the failure share of closed ones.

    Parameters
    ----------
    lives : Lives
    fit : LifeFit
        The fit that counts open cases as working when last seen.
    distribution : {"weibull", "lognormal", "exponential"}
        Its law.
    counts : Counts
        With the open and closed cases of the units, by age.

    Returns
    -------
    dict or None
        None where open cases are few (up to 5 % of cases) and do not change the
        answer: the second age by which 10 % have failed lies in the first interval.
    """
    n_ending_open = int(lives.n_open.sum())
    if not n_ending_open:
        return None
    aged = counts.by_age[counts.by_age["age"] >= 0]
    moved = counted_as_failed(
        lives.age,
        lives.n_open,
        aged["age"].to_numpy(dtype=np.float64),
        aged["n_failures"].to_numpy(dtype=np.int64),
        aged["n_closed"].to_numpy(dtype=np.int64),
    )
    moved[lives.age == 0] = 0  # an end on day 0 tells a fit nothing
    try:
        second = fit_of(lives, distribution, n_open_failed=moved)
    except InsufficientDataError:
        return None
    n_open, n_closed = counts.n_open, counts.n_closed
    share = n_open / (n_open + n_closed)
    _, first_low, first_high = age_of(fit, B10)
    b10, low, high = age_of(second, B10)
    if share <= MANY and first_low <= b10 <= first_high:
        return None
    n_counted = int(moved.sum())
    return {
        "n_open": n_open,
        "n_ending_open": n_ending_open,
        "share": share,
        "n_counted": n_counted,
        "parameters": stated(second, lives)["parameters"],
        "b10_days": b10,
        "b10_low": low,
        "b10_high": high,
        "sentence": (
            f"{text.count(n_open)} of {text.count(n_open + n_closed)} cases are open. "
            f"With {text.count(n_counted)} of the {text.count(n_ending_open)} lives "
            "that end with one counted as failed, by the share among closed cases of "
            f"like age, 10 % have failed by {text.estimate(b10)} days (95 % interval "
            f"{text.interval(low, high)})."
        ),
    }


def counted_as_failed(
    age: Floats,
    n_open: Ints,
    closed_age: Floats,
    n_failures: Ints,
    n_returns: Ints,
) -> Ints:
    """Return how many of the open cases at each age to count as failures.

    Parameters
    ----------
    age, n_open : array, shape (k,)
        Ascending ages in days, and open cases at each.
    closed_age, n_failures, n_returns : array, shape (c,)
        Closed cases by age, and how many of them were failures asked for.

    Returns
    -------
    array of int, shape (k,)
        Whole numbers whose running total follows that of the expected number.
    """
    pieces = np.searchsorted(PIECES, closed_age, side="right")
    size = len(PIECES) + 1
    failures = np.bincount(pieces, weights=n_failures, minlength=size)
    returns = np.bincount(pieces, weights=n_returns, minlength=size)
    if not returns.sum():
        return np.zeros(len(age), dtype=np.int64)
    overall = failures.sum() / returns.sum()
    is_enough = returns >= ENOUGH_CLOSED
    share = np.where(is_enough, failures / np.maximum(returns, 1), overall)
    expected = n_open * share[np.searchsorted(PIECES, age, side="right")]
    # Half a unit always rounds up: no age then gets more than it has.
    total = np.floor(np.cumsum(expected) + 0.5).astype(np.int64)
    return np.asarray(np.diff(total, prepend=0), dtype=np.int64)
