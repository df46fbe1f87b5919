"""Incidence by mode at its edges, what is refused, and a mode taken away."""

import numpy as np
import pytest

from analytics.errors import InsufficientDataError
from analytics.statistics.competing_risks import cumulative_incidence, survival_without
from analytics.statistics.life import kaplan_meier

LIVES = ([2, 5, 7], [[1, 0], [0, 2], [1, 1]], [1, 0, 4])


def test_all_working_have_an_incidence_of_0_and_a_survival_of_1():
    result = cumulative_incidence([1, 2], [[0, 0], [0, 0]], [3, 4])

    assert (result.incidence == 0).all()
    assert (result.survival == 1).all()
    assert (result.standard_error == 0).all()


def test_a_mode_without_failures_leaves_the_others_as_they_are():
    age, failed, censored = LIVES
    with_it = cumulative_incidence(
        age, np.insert(failed, 1, 0, axis=1), censored, confidence=0.9
    )
    without = cumulative_incidence(age, failed, censored, confidence=0.9)

    assert (with_it.incidence[:, 1] == 0).all()
    assert np.array_equal(with_it.low[:, [0, 2]], without.low, equal_nan=True)
    assert np.array_equal(with_it.high[:, [0, 2]], without.high, equal_nan=True)


def test_a_last_unit_of_millions_leaves_all_open_once_it_fails():
    result = cumulative_incidence(
        [1, 2, 3, 6, 7],
        [[100, 10000], [0, 0], [0, 1], [0, 0], [0, 1]],
        [100_010, 10**7, 0, 11_001, 0],
    )

    assert result.incidence[-1, 1] == pytest.approx(1 - 100 / 10_121_113)
    assert (result.low[-1, 1], result.high[-1, 1]) == (0, 1)


def test_one_failure_among_ten_million_keeps_its_digits():
    # A single failure: incidence 1e-7, standard error 1e-7, limits 1e-7 exp(-/+ z).
    result = cumulative_incidence([1, 2], [[1, 0], [0, 0]], [0, 10**7 - 1])

    assert result.incidence[0, 0] == pytest.approx(1e-7, rel=1e-9)
    assert result.standard_error[0, 0] == pytest.approx(1e-7, rel=1e-6)
    factor = np.exp(1.959963985)
    assert result.low[0, 0] == pytest.approx(1e-7 / factor, rel=1e-6)
    assert result.high[0, 0] == pytest.approx(1e-7 * factor, rel=1e-6)


def test_limits_stay_in_order_up_to_an_incidence_of_1():
    result = cumulative_incidence([1, 2, 3], [[2], [1], [1]], [0, 0, 0])

    assert (result.low[:2] < result.incidence[:2]).all()
    assert (result.incidence[:2] < result.high[:2]).all()
    assert (result.high[:2] < 1).all()
    assert np.isnan(result.low[2, 0])
    assert np.isnan(result.high[2, 0])


def test_a_unit_is_at_risk_right_after_its_entry():
    # The second unit enters at 2: one of one fails there, so all of the first mode.
    result = cumulative_incidence(
        [2, 3], [[1, 0], [0, 1]], [0, 0], entry_age=[0, 2], n_entered=[1, 1]
    )

    assert list(result.n_at_risk) == [1, 1]
    assert result.incidence[-1] == pytest.approx([1, 0])


@pytest.mark.parametrize("n", [[], [0]])
def test_no_unit_has_no_incidence(n):
    age, failed = range(len(n)), np.zeros((len(n), 2))

    with pytest.raises(InsufficientDataError, match="needed at least 1 units, found 0"):
        cumulative_incidence(age, failed, n)
    with pytest.raises(InsufficientDataError, match="needed at least 1 units, found 0"):
        survival_without(age, failed, n, column=0)


@pytest.mark.parametrize(
    ("wrong", "match"),
    [
        ({"failed": np.zeros((3, 0))}, "modes >= 1"),
        ({"failed": [1, 2, 1]}, "must have shape"),
        ({"failed": [[1, 0], [0, 2]]}, "must have shape"),
        ({"failed": [[1, -1], [0, 2], [1, 1]]}, "whole and not negative"),
        ({"failed": [[1, 0.5], [0, 2], [1, 1]]}, "whole and not negative"),
        ({"censored": [1, 0, -4]}, "whole and not negative"),
        ({"censored": [1, 0]}, "n_censored must have shape"),
        ({"age": [2, -5, 7]}, "finite and not negative"),
        ({"age": [2, np.nan, 7]}, "finite and not negative"),
        ({"confidence": 95}, "confidence must be between 0 and 1"),
        ({"n_entered": [10]}, "without entry_age"),
        ({"entry_age": [0], "n_entered": [9]}, "accounts for 9"),
        ({"entry_age": [0, 6], "n_entered": [3, 7]}, "than have entered"),
        ({"entry_age": [8], "n_entered": [10]}, "than have entered"),
        ({"entry_age": [0, 2], "n_entered": [0, 10]}, "than are at risk"),
    ],
)
def test_wrong_arrays_are_refused(wrong, match):
    age, failed, censored = LIVES
    given = {"age": age, "failed": failed, "censored": censored} | wrong
    lives = given.pop("age"), given.pop("failed"), given.pop("censored")

    with pytest.raises(ValueError, match=match):
        cumulative_incidence(*lives, **given)
    with pytest.raises(ValueError, match=match):
        survival_without(*lives, column=0, **given)


def test_counts_left_out_are_1_each_without_a_mode_as_with_it():
    age, failed, _ = LIVES

    assert list(survival_without(age, failed, None, column=0).survival) == list(
        survival_without(age, failed, [1, 1, 1], column=0).survival
    )


def test_a_negative_count_does_not_hide_in_a_sum_of_two_modes():
    with pytest.raises(ValueError, match="whole and not negative"):
        survival_without([1], [[0, 2, -1]], [5], column=0)
    with pytest.raises(ValueError, match="whole and not negative"):
        survival_without([1], [[2, 1, 0]], [-1], column=0)


@pytest.mark.parametrize("column", [-1, 2, 0.5, np.nan])
def test_a_mode_that_is_not_there_cannot_be_taken_away(column):
    with pytest.raises(ValueError, match=f"column must be from 0 to 1, got {column}"):
        survival_without(*LIVES, column=column)


def test_without_the_first_mode_its_failures_are_units_last_seen_working():
    without = survival_without(*LIVES, column=0, confidence=0.9)
    curve = kaplan_meier([2, 5, 7], [0, 2, 1], [2, 0, 5], confidence=0.9)

    assert list(without.survival) == list(curve.survival)
    assert list(without.low) == list(curve.low)
    assert without.confidence == 0.9


def test_without_its_only_mode_all_survive():
    without = survival_without([2, 5], [[1], [2]], [0, 3], column=0)

    assert (without.survival == 1).all()
