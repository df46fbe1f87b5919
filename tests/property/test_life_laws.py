"""What holds for every survival curve, hazard, incidence and comparison of groups."""

import lifelines
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.statistics.competing_risks import cumulative_incidence
from analytics.statistics.life import (
    interval_censored,
    kaplan_meier,
    log_rank,
    nelson_aalen,
)

FEW = settings(max_examples=60, deadline=None)
INTERVALS = ("plain", "log", "log-log")


@st.composite
def units(draw, *, late=False):
    """Draw one row per unit: age, mode of failure (0 = working), entry age."""
    n = draw(st.integers(2, 25))
    age = draw(st.lists(st.integers(1, 12), min_size=n, max_size=n))
    mode = draw(st.lists(st.integers(0, 2), min_size=n, max_size=n))
    # Halves: an entry never falls on an age.
    entry = [draw(st.integers(0, a - 1)) + 0.5 if late else 0.0 for a in age]
    return np.array(age, float), np.array(mode), np.array(entry)


def counted(age, mode):
    return age, (mode > 0).astype(int), (mode == 0).astype(int)


@FEW
@given(units(late=True), st.sampled_from(INTERVALS))
def test_limits_enclose_the_curve_and_stay_within_0_and_1(rows, interval):
    age, mode, entry = rows

    curve = kaplan_meier(*counted(age, mode), entry_age=entry, interval=interval)

    known = ~np.isnan(curve.low)
    assert (known == (curve.survival > 0)).all()
    assert (curve.low[known] >= 0).all()
    assert (curve.low[known] <= curve.survival[known]).all()
    assert (curve.survival[known] <= curve.high[known]).all()
    assert (curve.high[known] <= 1).all()
    assert (np.diff(curve.survival) <= 0).all()


@FEW
@given(units(late=True), st.randoms(use_true_random=False))
def test_order_and_grouping_of_rows_change_nothing(rows, random):
    age, mode, entry = rows
    order = list(range(len(age)))
    random.shuffle(order)
    failed, working = mode > 0, mode == 0
    distinct, where = np.unique(age, return_inverse=True)
    entries, n_entered = np.unique(entry, return_counts=True)

    by_unit = kaplan_meier(
        age[order], failed[order], working[order], entry_age=entry[order]
    )
    grouped = kaplan_meier(
        distinct,
        np.bincount(where, weights=failed),
        np.bincount(where, weights=working),
        entry_age=entries,
        n_entered=n_entered,
    )

    for name in ("age", "survival", "standard_error", "low", "high", "n_at_risk"):
        assert np.array_equal(
            getattr(by_unit, name), getattr(grouped, name), equal_nan=True
        ), name


@FEW
@given(units(), st.floats(0.01, 100))
def test_another_unit_of_age_moves_only_the_ages(rows, factor):
    age, mode, _ = rows

    one = kaplan_meier(*counted(age, mode))
    other = kaplan_meier(*counted(age * factor, mode))

    assert other.age == pytest.approx(one.age * factor)
    assert np.array_equal(other.survival, one.survival)
    assert other.median() == pytest.approx(one.median() * factor)


@FEW
@given(units())
def test_twice_the_units_give_the_same_curve_with_a_smaller_error(rows):
    lives = counted(*rows[:2])

    one = kaplan_meier(*lives)
    two = kaplan_meier(lives[0], 2 * lives[1], 2 * lives[2])

    assert two.survival == pytest.approx(one.survival, abs=1e-12)
    left = one.survival > 0
    assert two.standard_error[left] == pytest.approx(
        one.standard_error[left] / np.sqrt(2)
    )


@FEW
@given(units(late=True))
def test_incidences_and_survival_sum_to_1(rows):
    age, mode, entry = rows
    by_mode = np.stack([mode == 1, mode == 2], axis=1)

    result = cumulative_incidence(age, by_mode, mode == 0, entry_age=entry)
    curve = kaplan_meier(*counted(age, mode), entry_age=entry)

    assert result.incidence.sum(axis=1) + curve.survival == pytest.approx(1)
    assert result.survival == pytest.approx(curve.survival, abs=1e-12)
    known = ~np.isnan(result.low)
    assert (result.low[known] <= result.incidence[known] + 1e-12).all()
    assert (result.incidence[known] <= result.high[known] + 1e-12).all()
    assert (result.low[known] >= 0).all()
    assert (result.high[known] <= 1).all()


@FEW
@given(units())
def test_one_mode_alone_is_the_complement_of_the_curve(rows):
    age, mode, _ = rows
    lives = counted(age, mode)

    result = cumulative_incidence(age, lives[1][:, None], lives[2])
    curve = kaplan_meier(*lives)

    assert 1 - result.incidence[:, 0] == pytest.approx(curve.survival, abs=1e-12)


@FEW
@given(units(late=True))
def test_curve_and_hazard_agree_with_lifelines(rows):
    # Two units seen from new to the end: a risk set that runs empty is refused there.
    age, entry = np.append(rows[0], [12, 12]), np.append(rows[2], [0, 0])
    mode = np.append(rows[1], [0, 0])
    lives = counted(age, mode)

    curve = kaplan_meier(*lives, entry_age=entry)
    hazard = nelson_aalen(*lives, entry_age=entry)

    other = lifelines.KaplanMeierFitter().fit(age, mode > 0, entry=entry)
    assert curve.survival == pytest.approx(
        other.survival_function_at_times(curve.age).to_numpy(), rel=1e-6, abs=1e-12
    )
    other = lifelines.NelsonAalenFitter(nelson_aalen_smoothing=False)
    other.fit(age, mode > 0, entry=entry)
    assert hazard.cumulative_hazard == pytest.approx(
        other.cumulative_hazard_at_times(hazard.age).to_numpy(), rel=1e-6
    )


@FEW
@given(units())
def test_exact_and_right_censored_intervals_give_kaplan_meier(rows):
    age, mode, _ = rows

    estimate = interval_censored(age, np.where(mode > 0, age, np.inf))
    curve = kaplan_meier(*counted(age, mode))

    for at, survival in zip(curve.age, curve.survival, strict=True):
        left = 1 - estimate.mass[estimate.upper <= at].sum()
        assert left == pytest.approx(survival, abs=1e-6)


@FEW
@given(
    st.lists(
        st.tuples(st.integers(0, 9), st.integers(0, 5), st.booleans()),
        min_size=1,
        max_size=20,
    )
)
def test_no_shift_of_mass_makes_intervals_likelier(drawn):
    lower = np.array([low for low, _, _ in drawn], float)
    upper = np.array(
        [np.inf if working else low + width for low, width, working in drawn]
    )

    estimate = interval_censored(lower, upper)

    left, right, mass = estimate.lower, estimate.upper, estimate.mass
    covers = (lower[:, None] <= left) & (right <= upper[:, None])
    # A point at the open end of an interval lies outside it.
    point_outside = (left == right) & (left == lower[:, None])
    covers &= ~point_outside | (lower == upper)[:, None]
    slope = (covers / (covers @ mass)[:, None]).sum(axis=0)
    assert mass.sum() == pytest.approx(1, abs=1e-9)
    assert (mass >= 0).all()
    # Kuhn and Tucker: no interval has a slope above the number of units.
    assert slope.max() <= len(drawn) * (1 + 1e-6)


# The warning is about lifelines' own call of pandas.
@pytest.mark.filterwarnings("ignore:Starting with pandas version 4.0")
@FEW
@given(units(), st.randoms(use_true_random=False))
def test_log_rank_agrees_with_lifelines(rows, random):
    age, mode, _ = rows
    group = np.array([random.randrange(2) for _ in age])
    group[:2] = (0, 1)
    age[:2], mode[:2] = (1, 2), (1, 0)  # a failure that the other group outlives
    is_in = np.stack([group == 0, group == 1], axis=1)

    result = log_rank(age, (mode > 0)[:, None] * is_in, (mode == 0)[:, None] * is_in)

    other = lifelines.statistics.multivariate_logrank_test(age, group, mode > 0)
    assert result.statistic == pytest.approx(other.test_statistic, rel=1e-6, abs=1e-9)
    assert result.p_value == pytest.approx(other.p_value, rel=1e-6)


@FEW
@given(units())
def test_equal_groups_in_every_stratum_show_no_difference(rows):
    age, mode, _ = rows
    age[:2], mode[:2] = (1, 2), (1, 0)  # a failure that a unit of its stratum outlives
    failed = np.stack([mode > 0, mode > 0], axis=1).astype(int)

    result = log_rank(age, failed, 1 - failed, stratum=age > 6)

    assert result.statistic == pytest.approx(0, abs=1e-9)
    assert result.p_value == pytest.approx(1)
