"""Standardised rates and ratios: edges, and what is refused."""

import numpy as np
import pytest

from analytics.errors import InsufficientDataError
from analytics.statistics.intervals import (
    central_p_value,
    poisson_interval,
    rate_ratio,
)
from analytics.statistics.standardised import (
    directly_standardised_rate,
    shrunken_ratio,
    standardised_ratio,
)


def test_with_one_stratum_the_gamma_limits_are_garwood_s():
    found = directly_standardised_rate([7], [250.0], [1.0])

    assert found.rate == pytest.approx(7 / 250)
    assert (found.low, found.high) == pytest.approx(poisson_interval(7, 250.0))


def test_without_an_event_the_rate_is_0_and_the_upper_limit_is_not():
    found = directly_standardised_rate([0, 0], [10.0, 40.0], [1.0, 1.0])

    assert (found.rate, found.low) == (0, 0)
    # The stratum in which one event would count most: half its weight over 10.
    assert found.high == pytest.approx(0.05 * poisson_interval(0)[1])


def test_a_stratum_without_weight_may_be_empty():
    found = directly_standardised_rate([3, 0], [10.0, 0.0], [1.0, 0.0])

    assert found.rate == pytest.approx(0.3)


def test_a_stratum_with_weight_and_no_exposure_is_not_enough_data():
    with pytest.raises(InsufficientDataError, match="strata with exposure") as error:
        directly_standardised_rate([3, 0], [10.0, 0.0], [1.0, 1.0])

    assert (error.value.needed, error.value.found) == (2, 1)


@pytest.mark.parametrize(
    ("events", "exposure", "weight", "words"),
    [
        ([-1], [1.0], [1.0], "not negative"),
        ([1], [-1.0], [1.0], "exposure must be finite"),
        ([1], [1.0], [float("nan")], "weight must be finite"),
        ([1], [0.0], [1.0], "without exposure"),
        ([1], [1.0], [0.0], "at least one stratum"),
        ([], [], [], "at least one stratum"),
        (1, 1.0, 1.0, "at least one stratum"),
    ],
)
def test_strata_that_make_no_sense_are_refused(events, exposure, weight, words):
    with pytest.raises(ValueError, match=words):
        directly_standardised_rate(events, exposure, weight)


def test_with_others_the_ratio_is_that_of_two_rates():
    found = standardised_ratio(8, 4.0, n_others=40, expected_others=44.0)

    two = rate_ratio(8, 4.0, 40, 44.0)
    assert found == (two.ratio, two.low, two.high, central_p_value(8, 4.0, 40, 44.0))


def test_the_p_value_is_twice_the_smaller_poisson_tail():
    found = standardised_ratio([0, 1, 9], [3.0, 1.0, 4.0])

    # By hand: 2 exp(-3); 1 where both tails are above a half; 2 P(X >= 9 | 4).
    assert found.p_value == pytest.approx([0.0995741367, 1.0, 0.0427], abs=5e-5)


@pytest.mark.parametrize("expected", [0.5, 2.0, 3.7, 11.0])
def test_the_p_value_and_the_interval_say_the_same(expected):
    for observed in range(30):
        found = standardised_ratio(observed, expected)

        assert (found.p_value < 0.05) == (not found.low <= 1 <= found.high)


def test_an_uncertain_expectation_makes_the_interval_wider():
    known = standardised_ratio(8, 4.0)
    uncertain = standardised_ratio(8, 4.0, n_others=40, expected_others=40.0)

    assert uncertain.low < known.low
    assert uncertain.high > known.high


def test_several_groups_at_once_give_one_ratio_each():
    found = standardised_ratio([0, 2], [1.0, 4.0])

    assert np.array_equal(found.ratio, [0.0, 0.5])
    assert found.low[0] == 0


def test_a_level_lies_between_1_and_the_ratio_nearer_to_it_with_more_events():
    found = shrunken_ratio([4, 40, 0, 10], [2.0, 20.0, 1.0, 10.0])

    few, many, none, as_expected = found.ratio
    assert 1 < few < many < 2
    assert 0 < none < 1
    assert as_expected == pytest.approx(1)


def test_the_variance_of_true_levels_is_found_again():
    rng = np.random.default_rng(3)
    expected = rng.uniform(1, 40, size=4000)
    levels = rng.gamma(1 / 0.2, 0.2, size=4000)  # mean 1, variance 0.2

    found = shrunken_ratio(rng.poisson(levels * expected), expected)
    alike = shrunken_ratio(rng.poisson(expected), expected)

    assert found.variance == pytest.approx(0.2, abs=0.02)
    assert alike.variance < 0.005
    # Drawn towards 1, levels lie nearer to the true ones than plain ratios do.
    plain = rng.poisson(levels * expected) / expected
    assert np.mean((found.ratio - levels) ** 2) < np.mean((plain - levels) ** 2)


def test_without_a_group_the_variance_is_the_usual_one():
    assert shrunken_ratio([], []).variance == pytest.approx(0.09)


@pytest.mark.parametrize(
    ("observed", "expected", "words"),
    [
        ([1], [0.0], "above 0"),
        ([1, 2], [1.0], "shape"),
        (1, 1.0, "one dimension"),
        ([-1], [1.0], "not negative"),
    ],
)
def test_levels_of_what_makes_no_sense_are_refused(observed, expected, words):
    with pytest.raises(ValueError, match=words):
        shrunken_ratio(observed, expected)


def test_nothing_expected_is_refused():
    with pytest.raises(ValueError, match="above 0"):
        standardised_ratio(1, 0.0)


def test_half_of_the_others_is_refused():
    with pytest.raises(ValueError, match="go together"):
        standardised_ratio(1, 1.0, n_others=3)
