"""The mean working life up to a horizon, by hand and where it cannot be told."""

import math

import numpy as np
import pytest

from analytics.errors import InsufficientDataError
from analytics.statistics.restricted_mean import restricted_mean


def test_without_censoring_it_is_the_mean_of_the_lives():
    lives = np.array([1.0, 2, 2, 4, 7])

    result = restricted_mean(lives, np.ones(5), np.zeros(5), horizon=7)

    assert result.mean == pytest.approx(lives.mean())
    assert result.standard_error == pytest.approx(lives.std() / math.sqrt(5))


def test_lives_beyond_the_horizon_count_as_the_horizon():
    lives = np.array([1.0, 2, 2, 4, 7])

    result = restricted_mean(lives, np.ones(5), np.zeros(5), horizon=3)

    assert result.mean == pytest.approx((1 + 2 + 2 + 3 + 3) / 5)
    assert result.standard_error == pytest.approx(
        np.minimum(lives, 3).std() / math.sqrt(5)
    )


def test_a_horizon_beyond_the_last_age_counts_where_all_failed():
    result = restricted_mean([1, 3], [1, 1], [0, 0], horizon=99)

    assert result.mean == pytest.approx(2)


def test_area_and_error_with_censoring_by_hand():
    # S is 3/4 from 1 on and 3/8 from 3 on: 1 + 2 (3/4) + 2 (3/8), and the areas from
    # the two failures on are 9/4 and 3/4.
    result = restricted_mean([1, 2, 3, 5], [1, 0, 1, 0], [0, 1, 0, 1], horizon=5)

    assert result.mean == pytest.approx(13 / 4)
    variance = (9 / 4) ** 2 / (4 * 3) + (3 / 4) ** 2 / (2 * 1)
    assert result.standard_error == pytest.approx(math.sqrt(variance))
    reach = 1.959963984540054 * math.sqrt(variance)
    assert result.low == pytest.approx(13 / 4 - reach)
    assert result.high == pytest.approx(13 / 4 + reach)


def test_limits_lie_within_0_and_the_horizon():
    late = restricted_mean([4, 6], [1, 0], [0, 2], horizon=5)
    early = restricted_mean([0, 1, 9], [2, 0, 0], [0, 0, 1], horizon=9)

    assert (late.mean + 1.96 * late.standard_error > 5, late.high) == (True, 5)
    assert (early.mean - 1.96 * early.standard_error < 0, early.low) == (True, 0)


def test_failures_at_age_0_take_from_the_area():
    result = restricted_mean([0, 10], [1, 0], [0, 3], horizon=10)

    assert result.mean == pytest.approx(7.5)


def test_units_that_enter_late_add_nothing_before():
    # 1 of 2 fails at 2, and 1 of 4 at 4, when three more have entered.
    result = restricted_mean(
        [2, 4, 6], [1, 1, 0], [0, 0, 3], horizon=6, entry_age=[0, 3], n_entered=[2, 3]
    )

    assert result.mean == pytest.approx(2 + 2 / 2 + 2 * 3 / 8)


def test_without_a_failure_the_error_is_not_known():
    with pytest.raises(InsufficientDataError, match="before the horizon 4") as e:
        restricted_mean([5, 9], [1, 0], [0, 9], horizon=4)

    assert (e.value.needed, e.value.found) == (1, 0)


def test_failures_at_the_horizon_tell_nothing_of_the_error_either():
    with pytest.raises(InsufficientDataError, match="before the horizon 5") as e:
        restricted_mean([5, 9], [3, 0], [0, 9], horizon=5)

    assert (e.value.needed, e.value.found) == (1, 0)


def test_beyond_the_ages_seen_the_curve_is_not_known():
    with pytest.raises(InsufficientDataError, match="in view at the horizon 10") as e:
        restricted_mean([5, 9], [1, 0], [0, 9], horizon=10)

    assert (e.value.needed, e.value.found) == (1, 0)


@pytest.mark.parametrize("horizon", [0, -1, math.inf, math.nan])
def test_a_horizon_not_above_0_is_refused(horizon):
    with pytest.raises(ValueError, match="horizon must be finite and above 0"):
        restricted_mean([5], [1], [0], horizon=horizon)
