import math

import numpy as np
import pytest

from analytics.statistics.best_explained import best_split, splits


def test_by_hand_the_likelihood_ratio_less_the_number_of_values():
    # 8 of 10 failures where 2 of 10 were expected: 8 ln 4 + 2 ln(1/4) - 0 - ln 3.
    found = best_split([8, 1, 1], [2.0, 5.0, 3.0])
    assert found is not None
    assert (found.value, found.n_inside, found.n_outside) == (0, 8, 2)
    assert (found.expected_inside, found.expected_outside) == (2.0, 8.0)
    expected = 8 * math.log(4) + 2 * math.log(0.25) - math.log(3)
    assert found.gain == pytest.approx(expected)


def test_a_common_excess_belongs_to_no_value():
    assert best_split([20, 20], [10.0, 10.0]) is None


def test_a_level_common_to_all_does_not_change_what_stands_out():
    one = best_split([8, 1, 1], [2.0, 5.0, 3.0])
    other = best_split([8, 1, 1], [0.2, 0.5, 0.3])
    assert one is not None
    assert other is not None
    assert one.value == other.value
    assert one.gain == pytest.approx(other.gain)


def test_few_values_explain_better_than_many_with_the_same_split():
    few = best_split([8, 2], [2.0, 8.0])
    many = best_split([8, *[0, 1] * 2, *[0] * 36], [2.0, *[0.2] * 40])
    assert few is not None
    assert many is not None
    assert few.gain > many.gain


@pytest.mark.parametrize(
    ("counts", "expected"), [([3], [1.0]), ([0, 0], [1.0, 1.0]), ([4, 0], [1.0, 0.0])]
)
def test_one_group_or_no_failure_explains_nothing(counts, expected):
    assert best_split(counts, expected) is None


def test_all_failures_in_one_value_is_finite():
    found = best_split([5, 0], [1.0, 4.0])
    assert found is not None
    assert found.gain == pytest.approx(5 * math.log(5) - math.log(2))


def test_every_value_has_its_split_also_one_below_the_others():
    found = splits([8, 1, 1, 0], [2.0, 5.0, 3.0, 0.0])
    assert [split is not None and split.stands_out for split in found] == [
        *(True, False, False),
        False,
    ]
    assert found[3] is None  # no unit has it
    assert found[0] == best_split([8, 1, 1, 0], [2.0, 5.0, 3.0, 0.0])


@pytest.mark.parametrize(
    ("counts", "expected"),
    [
        ([1, 2], [1.0]),
        ([-1, 2], [1.0, 1.0]),
        ([1, 2], [0.0, 1.0]),
        ([1, 2], [np.nan, 1.0]),
        ([1, 2], [-1.0, 1.0]),
    ],
)
def test_bad_input_is_refused(counts, expected):
    with pytest.raises(ValueError, match=r"n_failures|n_expected|expected"):
        best_split(counts, expected)
