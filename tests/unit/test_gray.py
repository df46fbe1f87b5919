"""Gray's test on lives counted by hand, and what it refuses."""

import numpy as np
import pytest

from analytics.errors import InsufficientDataError
from analytics.statistics.gray import gray_test

NONE = [[0, 0]]


def test_one_failure_of_two_units_gives_the_fractions_by_hand():
    # One of two units fails, one of each group: expected 1/2, variance 1/2 * 1/2.
    test = gray_test([1, 2], [[1, 0], [0, 0]], [[0, 0], [0, 0]], [[0, 0], [0, 1]])

    assert test.statistic == pytest.approx(1)
    assert test.degrees_of_freedom == 1
    assert test.p_value == pytest.approx(0.317310508)


def test_a_unit_failed_by_another_mode_stays_among_those_that_could_have_failed():
    # One of three units of group 0 fails at 1 by another mode; at 2 the mode takes one
    # of two in either group. Group 0 weighs 2 / (2/3) = 3 against 2: 6/5 expected.
    # Its variance: (6/5)^2 (4/7 * 2/15 + 3/4 * 1/5) for the mode, each with its tie
    # factor first, and (3/2 * 6/5 * 2/5)^2 / 9 for the other failure.
    failed = [[0, 0], [1, 1], [0, 0]]
    one, nothing, left = (
        [[1, 0], [0, 0], [0, 0]],
        [[0, 0]] * 3,
        [[0, 0], [0, 0], [1, 1]],
    )

    other_mode = gray_test([1, 2, 3], failed, one, left)
    censored = gray_test([1, 2, 3], failed, nothing, np.add(one, left))

    variance = 1.44 * (8 / 105 + 3 / 20) + 0.72**2 / 9
    assert other_mode.statistic == pytest.approx(0.2**2 / variance)
    assert censored.statistic == pytest.approx(0, abs=1e-12)  # 2 * 2 / 4 expected


def test_ties_never_take_all_variance_away():
    # A factor below 0 makes the statistic 338, with p = 1e-75, from thirteen units.
    test = gray_test([0, 1], [[2, 0], [1, 5]], [[0, 0], [0, 1]], [[1, 2], [0, 1]])

    assert 0 < test.statistic < 13


def test_a_group_without_units_is_not_compared():
    with_it = gray_test(
        [1, 2, 3], [[1, 0, 1], [0, 0, 1], [1, 0, 0]], np.zeros((3, 3)), [[0, 0, 2]] * 3
    )
    without = gray_test(
        [1, 2, 3], [[1, 1], [0, 1], [1, 0]], np.zeros((3, 2)), [[0, 2]] * 3
    )

    assert with_it == without


def test_three_groups_of_which_one_left_early_give_a_finite_answer():
    # The first group fails as a whole before the others begin: the pooled incidence
    # passes 1 in the end.
    age = np.arange(1, 16)
    group = np.array([0] * 5 + [1, 2] * 5)
    failed = group[:, None] == np.arange(3)
    nothing = np.zeros_like(failed)

    test = gray_test(age, failed, nothing, nothing)

    assert test.degrees_of_freedom == 2
    assert test.p_value < 0.001


@pytest.mark.parametrize(
    ("failed", "other", "censored", "what"),
    [
        ([[1]], [[0]], [[3]], "groups with units"),
        ([[1, 0]], NONE, [[3, 0]], "groups with units"),
        (NONE, NONE, NONE, "groups with units"),
        (NONE, [[2, 3]], [[1, 1]], "failures by the mode"),
        (
            [[2, 3]],
            NONE,
            NONE,
            "failures by the mode that others outlived, with two groups at risk",
        ),
    ],
)
def test_what_the_data_cannot_answer(failed, other, censored, what):
    with pytest.raises(InsufficientDataError) as refused:
        gray_test([5], failed, other, censored)

    assert refused.value.what == what
    assert refused.value.needed > refused.value.found


def test_groups_that_never_met_are_not_compared():
    # Group 0 has left by age 1; only group 1 is there when the mode fails.
    with pytest.raises(InsufficientDataError, match="two groups at risk"):
        gray_test(
            [1, 2, 3], [[0, 0], [0, 1], [0, 0]], [[0, 0]] * 3, [[2, 0], [0, 0], [0, 1]]
        )


@pytest.mark.parametrize(
    ("entry_age", "n_entered"),
    [
        ([0, 1.5], [[3, 0], [0, 3]]),  # group 1 not yet in view at 1
        ([0, 1.5], [[1, 1], [2, 2]]),  # the only unit of group 0 in view fails at 1
    ],
)
def test_without_a_surviving_unit_in_view_incidence_from_new_is_not_known(
    entry_age, n_entered
):
    lives = late_lives()

    with pytest.raises(InsufficientDataError, match="in view that survive each age"):
        gray_test(*lives, entry_age=entry_age, n_entered=n_entered)


def test_with_a_surviving_unit_of_each_group_in_view_late_units_count():
    test = gray_test(*late_lives(), entry_age=[0, 1.5], n_entered=[[2, 1], [1, 2]])

    assert 0 < test.p_value < 1


def late_lives():
    """One of group 0 fails at 1, one of group 1 at 2, one of each at 3; two work."""
    nothing = [[0, 0]] * 3
    return [1, 2, 3], [[1, 0], [0, 1], [1, 1]], nothing, [[0, 0], [0, 0], [1, 1]]


@pytest.mark.parametrize(
    ("wrong", "match"),
    [
        ({"n_failed": [1, 0]}, "shape"),
        ({"n_failed": [[-1, 2]]}, "n_failed must be whole"),
        ({"n_failed_other": [[-1, 0]]}, "n_failed_other must be whole"),
        ({"n_censored": [[0.5, 0]]}, "n_censored must be whole"),
        ({"n_failed_other": [[0]]}, "n_failed_other must have shape"),
        ({"age": [-1]}, "age must be finite"),
        ({"age": [1, 2]}, "must have shape"),
        ({"n_entered": [[2, 2]]}, "without entry_age"),
        ({"entry_age": [0], "n_entered": [[1, 1]]}, "accounts for"),
        ({"entry_age": [7], "n_entered": [[2, 2]]}, "than have entered"),
        ({"entry_age": [0], "n_entered": [4]}, "n_entered must have shape"),
    ],
)
def test_wrong_arrays_are_refused(wrong, match):
    right = {
        "age": [5],
        "n_failed": [[1, 1]],
        "n_failed_other": NONE,
        "n_censored": [[1, 1]],
    } | wrong
    late = {
        name: right.pop(name) for name in ("entry_age", "n_entered") if name in right
    }

    with pytest.raises(ValueError, match=match):
        gray_test(*right.values(), **late)
