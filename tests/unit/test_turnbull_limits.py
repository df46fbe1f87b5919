"""Limits of survival from brackets: drawn anew, open where the data are."""

import math

import numpy as np
import pytest
from scipy import stats

from analytics.errors import InsufficientDataError
from analytics.statistics.turnbull_limits import interval_censored_limits

# One inspection at 10: 12 of 40 found failed.
LOWER, UPPER, N_UNITS = [0, 10], [10, math.inf], [12, 28]


def limits(*, seed=1, age=(10,), upper=UPPER, n_units=N_UNITS, **options):
    rng = np.random.default_rng(seed)
    return interval_censored_limits(
        LOWER, upper, age=age, n_units=n_units, rng=rng, **options
    )


@pytest.mark.parametrize("confidence", [0.5, 0.9])
def test_at_one_inspection_they_are_quantiles_of_a_binomial_count(confidence):
    result = limits(n_draws=1500, confidence=confidence)

    left = stats.binom(40, 28 / 40)
    # Half a unit for the steps of the count, half a unit for the draws.
    low, high = left.interval(confidence)
    assert result.low[0] == pytest.approx(low / 40, abs=1 / 40)
    assert result.high[0] == pytest.approx(high / 40, abs=1 / 40)


def test_what_the_data_leave_open_is_within_the_limits():
    result = limits(age=[0, 5, 10, 11])

    assert (result.low[0], result.high[0]) == (1, 1)
    assert result.low[1] == result.low[2]
    assert result.high[1] == 1
    assert (result.low[3], result.high[3]) == (0, result.high[2])


def test_the_same_seed_gives_the_same_limits_by_unit_or_by_count():
    one, other, elsewhere = limits(), limits(), limits(seed=2, n_draws=30)

    assert list(one.low) == list(other.low)
    assert list(one.low) != list(elsewhere.low)
    assert (one.n_units, one.n_draws, elsewhere.n_draws) == (40, 400, 30)


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"n_draws": 0}, "n_draws must be at least 1, got 0"),
        ({"age": [-1]}, "age must be finite and not negative"),
        ({"confidence": 1}, "confidence must be between 0 and 1"),
        ({"n_units": [1]}, r"n_units must have shape \(2,\)"),
        ({"upper": [10]}, r"upper must have shape \(2,\), got \(1,\)"),
        ({"upper": [math.nan, math.nan]}, "upper must not lie below lower"),
        (
            {"upper": [-1, math.inf], "n_units": [3, 0]},
            "upper must not lie below lower",
        ),
    ],
)
def test_what_cannot_be_is_refused(options, message):
    with pytest.raises(ValueError, match=message):
        limits(**options)


def test_few_failures_drawn_again_say_too_little():
    with pytest.raises(InsufficientDataError, match="at least 10 failed") as caught:
        limits(n_units=[9, 500])

    assert (caught.value.needed, caught.value.found) == (10, 9)
