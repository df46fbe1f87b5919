"""Alarms that show the same cases: constructed by hand."""

import pytest

from analytics.statistics.alarm_groups import join_alarms


def test_more_than_half_of_the_smaller_set_joins():
    big, half, more = set(range(10)), {0, 1, 90, 91}, {0, 1, 2, 90}

    assert join_alarms([1, 2], [5, 5], [big, half]).tolist() == [0, 1]
    assert join_alarms([1, 2], [5, 5], [big, more]).tolist() == [0, 0]


def test_the_smaller_set_may_be_the_earlier_one():
    assert join_alarms([1, 2], [5, 5], [{1, 2}, set(range(50))]).tolist() == [0, 0]


def test_within_a_look_the_stronger_alarm_founds():
    assert join_alarms([4, 4], [2.0, 3.0], [{1}, {1}]).tolist() == [1, 1]


def test_an_alarm_older_than_twelve_looks_is_not_joined():
    assert join_alarms([0, 12], [5, 5], [{1}, {1}]).tolist() == [0, 0]
    assert join_alarms([0, 13], [5, 5], [{1}, {1}]).tolist() == [0, 1]


def test_who_joins_a_member_joins_its_group():
    cases = [{1, 2, 3}, {2, 3, 4}, {3, 4, 5}]

    assert join_alarms([0, 6, 18], [5, 5, 5], cases).tolist() == [0, 0, 0]


def test_among_several_the_one_with_the_largest_share_is_joined():
    cases = [{1, 2, 7, 8, 9}, {3, 4, 5}, {1, 2, 3, 4, 5}]

    assert join_alarms([0, 0, 1], [9, 8, 5], cases).tolist() == [0, 1, 1]


def test_alarms_without_cases_stand_alone():
    assert join_alarms([0, 0], [1, 1], [set(), set()]).tolist() == [0, 1]
    assert join_alarms([], [], []).tolist() == []


@pytest.mark.parametrize(
    ("look", "evidence", "words"),
    [([1], [1, 2], "2 sets"), ([1, 2], [1], "2 sets"), ([1, 2], [1, None], "number")],
)
def test_what_does_not_fit_is_refused(look, evidence, words):
    with pytest.raises(ValueError, match=words):
        join_alarms(look, evidence, [{1}, {2}])
