"""The band that holds a whole survival curve: its range, its width, its chance."""

import math

import numpy as np
import pytest

from analytics.errors import InsufficientDataError
from analytics.statistics.life import kaplan_meier
from analytics.statistics.survival_band import critical_value, survival_band

# Nine failures from 2 to 10, one unit left working, seen to 12.
LIVES = ([*range(2, 11), 12], [1] * 9 + [0], [0] * 9 + [1])


def test_the_range_begins_at_the_fifth_failure_and_ends_at_the_last():
    band = survival_band(*LIVES)

    assert (band.from_age, band.to_age) == (6, 10)
    assert list(band.age) == [6, 7, 8, 9, 10]
    assert band.survival == pytest.approx([0.5, 0.4, 0.3, 0.2, 0.1])


def test_a_failure_that_leaves_nobody_ends_the_range_before_it():
    band = survival_band(range(1, 9), [1] * 8, [0] * 8)

    assert band.to_age == 7
    assert (band.low > 0).all()


def test_limits_stand_the_critical_value_away_on_the_scale_of_log_minus_log():
    band = survival_band(*LIVES)
    curve = kaplan_meier(*LIVES)

    # Greenwood's sum of the i-th of ten failures is i / (10 (10 - i)).
    sums = {i: i / (10 * (10 - i)) for i in range(5, 10)}
    assert band.critical_value == critical_value(sums[9] / sums[5])
    error = np.sqrt(list(sums.values())) / -np.log(band.survival)
    away = np.log(-np.log(band.low)) - np.log(-np.log(band.survival))
    assert away == pytest.approx(band.critical_value * error)
    assert (band.low < curve.low[4:9]).all()
    assert (band.high > curve.high[4:9]).all()


def test_a_range_of_ones_own_begins_and_ends_between_ages():
    band = survival_band(*LIVES, from_age=3.5, to_age=11)

    assert band.age[0] == 3.5
    assert band.survival[0] == pytest.approx(0.8)
    assert list(band.age[1:]) == [4, 5, 6, 7, 8, 9, 10]
    assert (band.from_age, band.to_age) == (3.5, 11)


def test_a_range_beginning_after_the_last_failure_ends_where_it_begins():
    band = survival_band(*LIVES, from_age=11)

    assert list(band.age) == [11]
    assert band.critical_value == pytest.approx(1.959963984540054)


def test_one_age_alone_has_the_limits_of_the_curve():
    band = survival_band(*LIVES, from_age=6, to_age=6.5)
    curve = kaplan_meier(*LIVES)

    assert band.low == pytest.approx(curve.low[4:5])
    assert band.high == pytest.approx(curve.high[4:5])


def test_the_chance_is_that_of_a_simulated_process():
    # Exact steps of the process; between two steps it is a bridge of Brownian motion,
    # whose chance to pass c is exp(-(c - x)(c - y) / h) (times two: either side).
    rng = np.random.default_rng(20)
    n_paths, n_steps, time = 20_000, 400, 1.5
    c, h = critical_value(math.exp(2 * time)), time / n_steps
    x, inside = rng.standard_normal(n_paths), np.ones(n_paths)
    for _ in range(n_steps):
        inside *= np.abs(x) <= c
        y = x * np.exp(-h) + np.sqrt(-np.expm1(-2 * h)) * rng.standard_normal(n_paths)
        for side in (1, -1):
            room = np.maximum((c - side * x) * (c - side * y), 0)
            inside *= -np.expm1(-room / h)
        x = y

    error = inside.std() / math.sqrt(n_paths)
    assert inside.mean() == pytest.approx(0.95, abs=3 * error)
    assert error < 0.0016


def test_a_wider_range_and_a_higher_level_widen_the_band():
    values = [critical_value(r) for r in (1, 1.0001, 1.1, 2, 10, 1e3, 1e7)]

    assert values == sorted(set(values))
    assert critical_value(5, confidence=0.999) > critical_value(5, confidence=0.5)


def test_fewer_than_five_failures_are_too_few():
    lives = ([1, 2, 3, 4, 9], [1, 1, 1, 1, 0], [0, 0, 0, 0, 9])

    with pytest.raises(InsufficientDataError, match="failures that left") as caught:
        survival_band(*lives)

    assert (caught.value.needed, caught.value.found) == (5, 4)
    assert survival_band(*lives, from_age=2).to_age == 4


@pytest.mark.parametrize(
    ("options", "what"),
    [
        ({"from_age": 1}, "failures by age 1"),
        ({"from_age": 2, "to_age": 12.5}, "units working and in view at age 12.5"),
    ],
)
def test_a_range_without_data_is_refused(options, what):
    with pytest.raises(InsufficientDataError, match=what) as caught:
        survival_band(*LIVES, **options)

    assert (caught.value.needed, caught.value.found) == (1, 0)


def test_all_working_units_give_no_band():
    with pytest.raises(InsufficientDataError, match="needed at least 5 failures"):
        survival_band([1, 2], [0, 0], [5, 5])


@pytest.mark.parametrize("to_age", [3, math.nan])
def test_a_range_that_ends_before_it_begins_is_refused(to_age):
    with pytest.raises(ValueError, match="before it begins at 4"):
        survival_band(*LIVES, from_age=4, to_age=to_age)


@pytest.mark.parametrize("ratio", [0.5, math.nan, math.inf])
def test_a_variance_that_shrinks_is_refused(ratio):
    with pytest.raises(ValueError, match="variance_ratio"):
        critical_value(ratio)
