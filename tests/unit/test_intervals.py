"""Limits of proportions and rates at their borders, and what is refused."""

import math

import numpy as np
import pytest

from analytics.statistics.intervals import (
    benjamini_hochberg,
    binomial_interval,
    central_p_value,
    poisson_interval,
    rate_ratio,
)

METHODS = ["wilson", "clopper-pearson", "jeffreys"]


@pytest.mark.parametrize("method", METHODS)
def test_no_event_and_only_events_reach_the_border(method):
    low, high = binomial_interval([0, 12], [12, 12], method=method)

    assert low[0] == 0
    assert high[1] == 1
    assert 0 < high[0] < 1
    assert low[1] == pytest.approx(1 - high[0])


@pytest.mark.parametrize("method", METHODS)
def test_without_trials_any_share_is_possible(method):
    assert binomial_interval(0, 0, method=method) == (0, 1)


def test_one_number_gives_numbers_and_arrays_give_arrays():
    assert np.ndim(binomial_interval(1, 2)[0]) == 0
    assert binomial_interval([[1, 2]], 5)[0].shape == (1, 2)
    assert poisson_interval([1, 2], [3, 4])[1].shape == (2,)
    assert rate_ratio([1, 2], 10, 3, [10, 20]).p_value.shape == (2,)


def test_only_events_have_a_closed_exact_limit():
    low, high = binomial_interval(12, 12, method="clopper-pearson")

    assert (low, high) == pytest.approx((0.025 ** (1 / 12), 1))


def test_no_event_has_a_closed_exact_limit():
    low, high = poisson_interval(0, 4)

    assert (low, high) == pytest.approx((0, -math.log(0.025) / 4))


def test_without_exposure_any_rate_is_possible():
    assert poisson_interval(0, 0) == (0, math.inf)


def test_two_groups_without_events_leave_the_ratio_undefined():
    result = rate_ratio(0, 10, 0, 20)

    assert math.isnan(result.ratio)
    assert (result.low, result.high, result.p_value) == (0, math.inf, 1)


def test_equal_rates_have_a_ratio_of_1():
    result = rate_ratio(5, 10, 10, 20)

    assert result.ratio == 1
    assert result.low < 1 < result.high
    assert result.p_value == pytest.approx(1)


def test_a_central_p_value_is_1_without_events_and_where_both_tails_are_large():
    assert central_p_value(0, 10, 0, 20) == 1
    assert central_p_value(5, 10, 10, 20) == 1
    assert np.ndim(central_p_value(1, 10, 3, 20)) == 0
    assert central_p_value([[1, 2]], 10, 3, [[10], [20]]).shape == (2, 2)


@pytest.mark.parametrize("time", [0.3, 1.0, 4.0])
def test_a_central_p_value_and_the_interval_say_the_same(time):
    n = np.arange(40)
    a, b = n[:, None], n[None, :]

    p_value, found = central_p_value(a, time, b, 1.0), rate_ratio(a, time, b, 1.0)

    excluded = (found.low > 1) | (found.high < 1)
    assert excluded.any()
    assert ((p_value < 0.05) == excluded).all()
    # Either way round it is the same question.
    assert central_p_value(b, 1.0, a, time) == pytest.approx(p_value, rel=1e-9)


def test_no_p_value_gives_nothing_to_reject():
    rejected, adjusted = benjamini_hochberg([])

    assert len(rejected) == len(adjusted) == 0


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda: binomial_interval(3, 2), "n_events must not exceed n_trials"),
        (lambda: binomial_interval(-1, 2), "whole and not negative"),
        (lambda: binomial_interval(0.5, 2), "not negative, got 0.5"),
        (lambda: binomial_interval(1, 2, method="wald"), "method must be wilson"),
        (lambda: binomial_interval(1, 2, confidence=95), "between 0 and 1, got 95"),
        (lambda: poisson_interval(1, 0), "without exposure"),
        (lambda: poisson_interval(1, -1), "exposure must be finite and not negative"),
        (lambda: poisson_interval(1, confidence=0), "confidence must be between"),
        (lambda: rate_ratio(1, 0, 1, 1), "exposures must be finite and above 0"),
        (lambda: central_p_value(1, 1, 1, 0), "must be finite and above 0"),
        (lambda: central_p_value(1, 1, -3, 1), "not negative, got -3"),
        (lambda: benjamini_hochberg([1.5]), "from 0 to 1"),
        (lambda: benjamini_hochberg([math.nan]), "numbers from 0 to 1"),
        (lambda: benjamini_hochberg([0.5], rate=1), "rate must be between 0 and 1"),
    ],
)
def test_counts_that_do_not_fit_are_refused(ask, message):
    with pytest.raises(ValueError, match=message):
        ask()
