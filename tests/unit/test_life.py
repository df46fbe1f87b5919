"""Curves, hazards, incidences and comparisons counted by hand."""

import math

import numpy as np
import pytest

from analytics.errors import InsufficientDataError
from analytics.statistics.competing_risks import cumulative_incidence
from analytics.statistics.life import (
    interval_censored,
    kaplan_meier,
    log_rank,
    nelson_aalen,
)


def test_failures_come_before_censorings_of_the_same_age():
    # The first test data set of the validation vignette of the R package survival.
    curve = kaplan_meier([1, 1, 6, 6, 8, 9], [1, 0, 1, 1, 0, 1], [0, 1, 0, 0, 1, 0])

    assert list(curve.age) == [1, 6, 8, 9]
    assert list(curve.n_at_risk) == [6, 4, 2, 1]
    assert curve.survival == pytest.approx([5 / 6, 5 / 12, 5 / 12, 0])
    assert curve.standard_error[0] == pytest.approx(5 / 6 * math.sqrt(1 / 30))


def test_hazard_adds_the_shares_that_fail():
    hazard = nelson_aalen([1, 1, 6, 6, 8, 9], [1, 0, 1, 1, 0, 1], [0, 1, 0, 0, 1, 0])

    assert hazard.cumulative_hazard == pytest.approx([1 / 6, 2 / 3, 2 / 3, 5 / 3])
    assert hazard.standard_error[1] == pytest.approx(math.sqrt(1 / 36 + 2 / 16))
    assert (hazard.low <= hazard.cumulative_hazard).all()


def test_a_unit_entering_at_the_age_of_a_failure_is_not_yet_at_risk():
    # Entries at 3 and 7 meet failures: 4/5, then 4/5, 2/3 and 2/3 survive.
    curve = kaplan_meier(
        [3, 5, 6, 7, 9, 10, 4, 12],
        [1, 1, 0, 1, 1, 0, 0, 0],
        [0, 0, 1, 0, 0, 1, 1, 1],
        entry_age=[0, 0, 0, 1, 2, 4, 3, 7],
    )

    shown = np.isin(curve.age, [3, 5, 7, 9])
    assert list(curve.n_at_risk[shown]) == [5, 5, 3, 3]
    assert curve.survival[shown] == pytest.approx([0.8, 0.64, 32 / 75, 64 / 225])


def test_a_unit_seen_from_new_is_at_risk_at_age_0():
    curve = kaplan_meier([0, 5], [1, 0], [0, 3], entry_age=[0], n_entered=[4])

    assert list(curve.n_at_risk) == [4, 3]
    assert curve.survival == pytest.approx([0.75, 0.75])


def test_the_median_is_reached_where_survival_is_one_half():
    curve = kaplan_meier([2, 3, 4, 5], [1, 1, 1, 1], [0, 0, 0, 0])

    assert curve.median() == 3


def test_a_median_not_reached_is_infinite():
    curve = kaplan_meier([2, 3], [1, 0], [0, 99])

    assert curve.median() == math.inf
    assert curve.median_interval() == (math.inf, math.inf)


@pytest.mark.parametrize("interval", ["plain", "log", "log-log"])
def test_before_the_first_failure_survival_is_certain(interval):
    curve = kaplan_meier([1, 2], [0, 1], [1, 1], interval=interval)

    assert (curve.low[0], curve.survival[0], curve.high[0]) == (1, 1, 1)


def test_incidence_by_mode_matches_the_fractions_by_hand():
    # Ten units, two modes, a failure tied with a censoring at 5.
    mode = np.array([0, 1, 2, 1, 0, 2, 0, 1, 2, 0])
    age = [1, 2, 2, 3, 4, 5, 5, 6, 7, 8]

    result = cumulative_incidence(
        age, np.stack([mode == 1, mode == 2], axis=1), mode == 0
    )

    at = np.searchsorted(result.age, [2, 3, 5])
    assert result.incidence[at, 0] == pytest.approx([1 / 9, 2 / 9, 2 / 9])
    assert result.incidence[at, 1] == pytest.approx([1 / 9, 1 / 9, 11 / 45])
    assert result.survival[at] == pytest.approx([7 / 9, 2 / 3, 8 / 15])


def test_incidence_is_0_before_the_first_failure_and_unbounded_at_1():
    result = cumulative_incidence([1, 2, 3], [[0, 0], [0, 1], [0, 2]], [0, 0, 0])

    assert (result.low[:, 0] == 0).all()
    assert (result.high[:, 0] == 0).all()
    assert result.incidence[-1, 1] == pytest.approx(1)
    assert math.isnan(result.low[-1, 1])


def test_two_inspections_share_the_mass_they_allow():
    # Two in (0, 2], one in (1, 3], one working at 3: only (1, 2] is in both.
    estimate = interval_censored([0, 1, 3], [2, 3, math.inf], n_units=[2, 1, 1])

    assert list(estimate.lower) == [1, 3]
    assert list(estimate.upper) == [2, math.inf]
    assert estimate.mass == pytest.approx([0.75, 0.25])


def test_a_failure_at_the_open_end_of_an_interval_is_outside_it():
    estimate = interval_censored([5, 5], [5, 9])

    assert list(estimate.lower) == [5, 5]
    assert list(estimate.upper) == [5, 9]
    assert estimate.mass == pytest.approx([0.5, 0.5])


def test_a_failure_at_the_closed_end_of_an_interval_is_inside_it():
    estimate = interval_censored([9, 5], [9, 9])

    assert (list(estimate.lower), list(estimate.upper)) == ([9], [9])
    assert estimate.mass == pytest.approx([1])


def test_strata_are_compared_within_themselves():
    failed, working = [[3, 1], [1, 3]], [[1, 3], [3, 1]]

    apart = log_rank([1, 1], failed, working, stratum=["a", "b"])
    together = log_rank([1, 1], failed, working)

    # O - E is 3 - 2 in one stratum and 1 - 2 in the other.
    assert apart.statistic == pytest.approx(0)
    assert together.statistic == pytest.approx(0)
    assert log_rank([1], failed[:1], working[:1]).statistic == pytest.approx(1.75)


def test_strata_need_no_order_among_their_labels():
    failed, working = [[3, 1], [1, 3]], [[1, 3], [3, 1]]

    result = log_rank([1, 1], failed, working, stratum=np.array([1, "a"], object))

    assert result.statistic == pytest.approx(0)


def test_log_rank_counts_late_entries_only_from_their_age():
    # The second group enters at 2, after the failure at 1: one failure at 3 counts,
    # 1 - 2/4 observed less expected, variance 1/4.
    result = log_rank(
        [1, 3, 4], [[1, 0], [1, 0], [0, 0]], [[0, 0], [0, 0], [1, 2]],
        entry_age=[0, 2], n_entered=[[3, 0], [0, 2]],
    )  # fmt: skip

    assert result.statistic == pytest.approx(1)
    assert result.degrees_of_freedom == 1


def test_strata_with_late_entries_add_up():
    # The first stratum is the comparison above; in the second the failure at 1 belongs
    # to the second group, 1 - 1/3 observed less expected, variance 2/9.
    result = log_rank(
        [1, 3, 4, 1, 2], [[1, 0], [1, 0], [0, 0], [0, 1], [0, 0]],
        [[0, 0], [0, 0], [1, 2], [0, 0], [2, 0]], stratum=["a", "a", "a", "b", "b"],
        entry_age=[0, 2, 0, 0.5], n_entered=[[3, 0], [0, 2], [1, 1], [1, 0]],
        entry_stratum=["a", "a", "b", "b"],
    )  # fmt: skip

    assert result.statistic == pytest.approx((1 / 2 - 2 / 3) ** 2 / (1 / 4 + 2 / 9))
    assert list(result.n_failed) == [2, 1]
    assert result.n_expected == pytest.approx([1 + 1 / 2 + 2 / 3, 1 / 2 + 1 / 3])


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"entry_stratum": ["a", "z"]}, "units enter stratum z, none leaves it"),
        ({"entry_stratum": ["a"]}, r"entry_stratum must have shape \(2,\)"),
        ({"entry_stratum": ["a", "b"]}, "units of group 1 enter, but none leaves"),
    ],
)
def test_entries_that_do_not_fit_their_strata_are_refused(options, message):
    with pytest.raises(ValueError, match=message):
        log_rank(
            [1, 2, 3], [[1, 0], [0, 1], [1, 0]], [[1, 1], [0, 0], [0, 0]],
            stratum=["a", "a", "b"], entry_age=[0, 0], n_entered=[[2, 2], [1, 1]],
            **options,
        )  # fmt: skip


def test_a_group_without_units_takes_no_degree_of_freedom():
    result = log_rank([1, 2], [[1, 0, 0], [0, 0, 1]], [[1, 0, 2], [1, 0, 1]])

    assert result.degrees_of_freedom == 1


@pytest.mark.parametrize(
    "estimate",
    [
        lambda: kaplan_meier([], [], []),
        lambda: nelson_aalen([1], [0], [0]),
        lambda: cumulative_incidence([1], [[0, 0]], [0]),
        lambda: interval_censored([1], [2], n_units=[0]),
    ],
    ids=["survival", "hazard", "incidence", "intervals"],
)
def test_no_unit_is_said_to_be_too_few(estimate):
    with pytest.raises(InsufficientDataError, match="needed at least 1 units, found 0"):
        estimate()


@pytest.mark.parametrize(
    ("arguments", "options", "message"),
    [
        (([1], [1, 2], [0]), {}, r"n_failed must have shape \(1,\)"),
        (([1], [1], [-1]), {}, "n_censored must be whole and not negative, got -1"),
        (([1], [0.5], [1]), {}, "n_failed must be whole and not negative, got 0.5"),
        (([-1], [1], [0]), {}, "age must be finite and not negative, got -1"),
        (([math.nan], [1], [0]), {}, "age must be finite"),
        (([[1]], [1], [0]), {}, "age must have one dimension"),
        (([1], [1], [0]), {"confidence": 1}, "confidence must be between 0 and 1"),
        (([1], [1], [0]), {"interval": "logit"}, "interval must be plain, log or"),
        (([1], [1], [0]), {"n_entered": [1]}, "without entry_age"),
        (([1], [1], [0]), {"entry_age": [0, 0]}, "accounts for 2 units"),
        (([1, 9], [1, 1], [0, 0]), {"entry_age": [1, 1]}, "more units fail at age 1"),
        (([1, 9], [0, 1], [1, 0]), {"entry_age": [2, 2]}, "more units have left by"),
    ],
)
def test_counts_that_do_not_fit_are_refused(arguments, options, message):
    with pytest.raises(ValueError, match=message):
        kaplan_meier(*arguments, **options)


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"stratum": [1]}, r"stratum must have shape \(2,\)"),
        ({"stratum": [1, 2], "entry_age": [0], "n_entered": [[1, 1]]}, "all three"),
        ({"stratum": [1, 2], "entry_stratum": [1]}, "all three"),
        ({"entry_age": [0], "n_entered": [[1, 1]], "entry_stratum": [1]}, "all three"),
        ({"n_entered": [[1, 1]]}, "without entry_age"),
        ({"stratum": [1, math.nan]}, "stratum must be known for every row, got nan"),
        ({"stratum": [None, "a"]}, "stratum must be known for every row, got None"),
    ],
)
def test_comparisons_that_do_not_fit_are_refused(options, message):
    with pytest.raises(ValueError, match=message):
        log_rank([1, 2], [[1, 0], [0, 1]], [[0, 0], [0, 0]], **options)


def test_groups_need_a_column_each():
    with pytest.raises(ValueError, match=r"shape \(ages, groups\)"):
        log_rank([1], [1], [0])
    with pytest.raises(ValueError, match=r"shape \(ages, modes\)"):
        cumulative_incidence([1], [1], [0])


def test_groups_that_never_met_are_not_compared():
    with pytest.raises(InsufficientDataError, match="needed at least 2 groups"):
        log_rank([1], [[1, 0]], [[1, 0]])
    with pytest.raises(InsufficientDataError, match="failures that others outlived"):
        log_rank([1, 2], [[0, 0], [0, 1]], [[1, 0], [0, 0]])


def test_an_interval_that_ends_before_it_begins_is_refused():
    with pytest.raises(ValueError, match="not lie below lower"):
        interval_censored([2], [1])
