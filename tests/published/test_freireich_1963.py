"""Survival, cumulative hazard and the log-rank test on the 6-mercaptopurine trial.

Data    E. J. Freireich and others, Blood 21 (1963) 699: weeks of remission, 21 children
        on 6-mercaptopurine and 21 on placebo; as shipped in the R packages KMsurv and
        MASS (gehan).
Values  Survival, Greenwood errors and cumulative hazard: Klein and Moeschberger,
        Survival Analysis, tables 4.1 and 4.2; the log-rank 16.79 is printed widely. All
        were reproduced by R, lifelines, statsmodels and scikit-survival. Limits and
        the placebo curve were only cross-checked between these. The mean of 23.29
        weeks within 35, error 2.83: the same book, section 4.5 (from memory); full
        figures for it and other horizons calculated with R (survival 3.5-3, rmean).
Read    2026-11-25; calculated with R 2026-11-27.
Digits  Printed figures to half a unit of their last digit (tables of the hazard cut
        instead of rounding: one unit); cross-checked ones to 1e-7 relative. The mean
        359/9 weeks of the exponential law and its inverse are closed forms.
"""

import math

import numpy as np
import pytest

from analytics.statistics.distributions import fit_life
from analytics.statistics.hazard import hazard_by_age
from analytics.statistics.life import kaplan_meier, log_rank, nelson_aalen
from analytics.statistics.restricted_mean import restricted_mean

# week, 1 = relapse, 0 = still in remission
TREATED = [
    (10, 1), (7, 1), (32, 0), (23, 1), (22, 1), (6, 1), (16, 1), (34, 0), (32, 0),
    (25, 0), (11, 0), (20, 0), (19, 0), (6, 1), (17, 0), (35, 0), (6, 1), (13, 1), (9,
    0), (6, 0), (10, 0),
]  # fmt: skip
PLACEBO = [
    1, 22, 3, 12, 8, 17, 2, 11, 8, 12, 2, 5, 4, 15, 8, 23, 5, 11, 4, 1, 8,
]  # fmt: skip
RELAPSES = [6, 7, 10, 13, 16, 22, 23]


def treated():
    weeks, relapsed = np.array(TREATED).T
    return weeks, relapsed, 1 - relapsed


def at_relapses(curve, values):
    return values[np.isin(curve.age, RELAPSES)]


def test_survival_and_its_error_match_the_printed_table():
    curve = kaplan_meier(*treated())

    assert list(at_relapses(curve, curve.n_at_risk)) == [21, 17, 15, 12, 11, 7, 6]
    assert at_relapses(curve, curve.survival) == pytest.approx(
        [0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448], abs=5e-4
    )
    assert at_relapses(curve, curve.standard_error) == pytest.approx(
        [0.076, 0.087, 0.096, 0.107, 0.114, 0.128, 0.135], abs=5e-4
    )


def test_median_is_23_weeks_and_its_upper_limit_is_not_reached():
    curve = kaplan_meier(*treated())

    assert curve.median() == 23
    assert curve.median_interval() == (13, math.inf)


@pytest.mark.parametrize(
    ("interval", "low", "high"),
    [
        ("plain", 0.636332661137, 0.977112717014),
        ("log", 0.653124218462, 0.996443675909),
        ("log-log", 0.563146564622, 0.922809019203),
    ],
)
def test_limits_at_week_7_match_four_libraries(interval, low, high):
    curve = kaplan_meier(*treated(), interval=interval)

    at_7 = curve.age == 7

    assert curve.low[at_7] == pytest.approx(low, rel=1e-7)
    assert curve.high[at_7] == pytest.approx(high, rel=1e-7)


def test_cumulative_hazard_matches_the_printed_table():
    hazard = nelson_aalen(*treated())

    values = at_relapses(hazard, hazard.cumulative_hazard)

    assert values[0] == pytest.approx(0.1428, abs=1.1e-4)
    assert values[-1] == pytest.approx(0.7521, abs=1e-4)
    assert at_relapses(hazard, hazard.standard_error)[-1] == pytest.approx(
        0.279467746695, rel=1e-7
    )


def test_without_censoring_survival_is_the_share_left():
    ones = np.ones(len(PLACEBO), dtype=int)

    curve = kaplan_meier(PLACEBO, ones, 0 * ones)

    left = [np.mean(np.array(PLACEBO) > week) for week in curve.age]
    assert curve.survival == pytest.approx(left, abs=1e-12)
    assert curve.median_interval() == (4, 11)
    assert math.isnan(curve.low[-1])
    assert math.isnan(curve.standard_error[-1])


def test_log_rank_statistic_matches_the_printed_one():
    weeks, relapsed, in_remission = treated()
    zeros, ones = np.zeros(21, dtype=int), np.ones(21, dtype=int)

    result = log_rank(
        np.concatenate([weeks, PLACEBO]),
        np.stack([np.r_[relapsed, zeros], np.r_[zeros, ones]], axis=1),
        np.stack([np.r_[in_remission, zeros], np.r_[zeros, zeros]], axis=1),
    )

    assert result.statistic == pytest.approx(16.79, abs=5e-3)
    assert result.degrees_of_freedom == 1
    assert result.p_value == pytest.approx(4.16880910933e-05, rel=1e-6)
    # As R prints beside the test (survdiff; from memory): 19.3 and 10.7 expected.
    assert list(result.n_failed) == [9, 21]
    assert result.n_expected == pytest.approx([19.3, 10.7], abs=0.05)


def test_exponential_mean_is_the_total_of_weeks_over_relapses():
    fit = fit_life(*treated(), distribution="exponential")

    assert fit.parameters["scale"] == pytest.approx(359 / 9, rel=1e-9)


def test_mean_weeks_within_35_match_the_printed_ones():
    result = restricted_mean(*treated(), horizon=35)

    assert result.mean == pytest.approx(23.29, abs=5e-3)
    assert result.standard_error == pytest.approx(2.83, abs=5e-3)
    assert (result.low, result.high) == pytest.approx((17.75, 28.83), abs=0.02)


@pytest.mark.parametrize(
    ("horizon", "mean", "error"),
    [(20, 16.11652661064, 1.25156019601), (30, 21.04649859944, 2.24380195156),
     (35, 23.28739495798, 2.82746762337)],
)  # fmt: skip
def test_mean_weeks_within_a_horizon_match_the_library(horizon, mean, error):
    result = restricted_mean(*treated(), horizon=horizon)

    assert result.mean == pytest.approx(mean, rel=1e-9)
    assert result.standard_error == pytest.approx(error, rel=1e-9)


def test_rate_is_relapses_over_the_total_of_weeks():
    result = hazard_by_age(*treated(), edges=[0, 35])

    assert (result.n_failed[0], result.exposure[0]) == (9, 359)
    assert result.rate[0] == pytest.approx(9 / 359)
