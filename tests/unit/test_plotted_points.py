"""Points of a probability plot, and the line through them."""

import math

import numpy as np
import pytest
from scipy import stats

from analytics.errors import InsufficientDataError
from analytics.statistics.life import kaplan_meier
from analytics.statistics.plotted_points import (
    PlottedPoints,
    line_through_points,
    plotted_points,
)

AGES = [100, 200, 400, 800]
N_FAILED = [3, 4, 0, 1]
N_CENSORED = [10, 0, 20, 30]


def test_a_point_lies_in_the_middle_of_its_step_of_the_curve():
    points = plotted_points(AGES, N_FAILED, N_CENSORED)

    survival = kaplan_meier(AGES, N_FAILED, N_CENSORED).survival
    before = np.concatenate([[1], survival[:-1]])
    assert list(points.age) == [100, 200, 800]
    assert list(points.n_failed) == [3, 4, 1]
    middle = 1 - (before + survival) / 2
    assert points.failed_fraction == pytest.approx(middle[[0, 1, 3]])


def test_delayed_entry_raises_the_points_as_it_lowers_the_curve():
    entries = {"entry_age": [0, 150], "n_entered": [28, 40]}

    points = plotted_points(AGES, N_FAILED, N_CENSORED, **entries)

    survival = kaplan_meier(AGES, N_FAILED, N_CENSORED, **entries).survival
    assert points.failed_fraction[0] == pytest.approx(3 / 28 / 2)
    assert points.failed_fraction[1] == pytest.approx(
        1 - (survival[0] + survival[1]) / 2
    )


def test_ranks_after_units_taken_away_follow_the_rule_of_increments():
    # 5 units: failed, taken away, failed, taken away, failed. Increments by hand:
    # 1; then (6 - 1) / (1 + 3) = 1.25; then (6 - 2.25) / (1 + 1) = 1.875.
    points = plotted_points(
        [1, 2, 3, 4, 5], [1, 0, 1, 0, 1], [0, 1, 0, 1, 0], position="benard"
    )

    ranks = points.failed_fraction * 5.4 + 0.3
    assert ranks == pytest.approx([1, 2.25, 4.125])


def test_failures_at_one_age_share_the_middle_of_their_ranks():
    apart = plotted_points([1, 2, 3, 4], [1] * 4, [0] * 4, position="benard")
    tied = plotted_points([1, 2, 4], [1, 2, 1], [0] * 3, position="benard")

    fraction = apart.failed_fraction
    assert tied.failed_fraction == pytest.approx(
        [fraction[0], (fraction[1] + fraction[2]) / 2, fraction[3]]
    )


def test_ranks_with_entries_at_age_0_only_are_those_without():
    plain = plotted_points(AGES, N_FAILED, N_CENSORED, position="median-rank")
    entered = plotted_points(
        AGES, N_FAILED, N_CENSORED, position="median-rank", entry_age=[0],
        n_entered=[68],
    )  # fmt: skip
    none_late = plotted_points(
        AGES, N_FAILED, N_CENSORED, position="median-rank", entry_age=[0, 50],
        n_entered=[68, 0],
    )  # fmt: skip

    assert list(none_late.failed_fraction) == list(plain.failed_fraction)
    assert list(entered.failed_fraction) == list(plain.failed_fraction)


@pytest.mark.parametrize("position", ["median-rank", "benard"])
def test_ranks_with_delayed_entry_are_refused(position):
    with pytest.raises(ValueError, match="use position midpoint"):
        plotted_points(
            AGES, N_FAILED, N_CENSORED, position=position, entry_age=[0, 50],
            n_entered=[40, 28],
        )  # fmt: skip


@pytest.mark.parametrize("distances", ["age", "fraction"])
@pytest.mark.parametrize(
    ("distribution", "law", "parameters"),
    [
        ("weibull", stats.weibull_min(1.7, scale=300), {"shape": 1.7, "scale": 300}),
        (
            "lognormal",
            stats.lognorm(0.6, scale=300),
            {"mu": math.log(300), "sigma": 0.6},
        ),
        ("exponential", stats.expon(scale=300), {"scale": 300}),
    ],
)
def test_points_on_the_line_of_a_law_give_that_law(
    distribution, law, parameters, distances
):
    n = 50
    ages = law.ppf((np.arange(n) + 0.5) / n)
    points = plotted_points(ages, np.ones(n), np.zeros(n))

    line = line_through_points(points, distribution=distribution, distances=distances)

    assert line.parameters == pytest.approx(parameters, rel=1e-9)
    assert line.r_squared == pytest.approx(1)
    assert line.n_points == n


def test_the_line_agrees_with_a_regression_of_single_failures():
    points = plotted_points([10, 30, 70, 90], [1, 1, 1, 1], [0, 0, 0, 3])
    z = np.log(-np.log1p(-points.failed_fraction))
    y = np.log(points.age)

    along_age = line_through_points(points, distribution="weibull")
    along_fraction = line_through_points(
        points, distribution="weibull", distances="fraction"
    )

    other = stats.linregress(z, y)
    assert along_age.parameters["shape"] == pytest.approx(1 / other.slope)
    assert math.log(along_age.parameters["scale"]) == pytest.approx(other.intercept)
    assert along_age.r_squared == pytest.approx(other.rvalue**2)
    other = stats.linregress(y, z)
    assert along_fraction.parameters["shape"] == pytest.approx(other.slope)
    assert along_fraction.r_squared == pytest.approx(other.rvalue**2)


def test_a_point_weighs_as_many_failures_as_it_stands_for():
    points = plotted_points([10, 30, 70], [5, 1, 2], [0, 0, 9])

    line = line_through_points(points, distribution="lognormal")

    z = np.repeat(stats.norm.ppf(points.failed_fraction), points.n_failed)
    other = stats.linregress(z, np.repeat(np.log(points.age), points.n_failed))
    assert line.parameters == pytest.approx(
        {"mu": other.intercept, "sigma": other.slope}
    )


def test_a_failure_at_age_0_counts_and_has_no_place_on_the_plot():
    points = plotted_points([0, 10, 30], [2, 1, 1], [0, 0, 6])

    line = line_through_points(points, distribution="weibull")

    assert list(points.age) == [0, 10, 30]
    assert points.failed_fraction == pytest.approx([0.1, 0.25, 0.35])
    assert line.n_points == 2


def test_a_line_that_all_but_never_rises_has_no_end():
    points = PlottedPoints(
        np.array([1.0, 2]), np.array([1, 1]), np.array([0.5, 0.5001])
    )

    line = line_through_points(points, distribution="weibull")

    assert 0 < line.parameters["shape"] < 1e-3
    assert line.parameters["scale"] == np.inf


def test_one_age_gives_an_exponential_line_without_a_measure_of_fit():
    points = plotted_points([10], [1], [1])

    line = line_through_points(points, distribution="exponential")

    assert line.parameters["scale"] == pytest.approx(10 / -math.log(0.75))
    assert math.isnan(line.r_squared)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (([], [], []), "at least 1 units, found 0"),
        (([5], [0], [7]), "at least 1 failures, found 0"),
    ],
)
def test_without_a_failure_there_is_nothing_to_plot(arguments, message):
    with pytest.raises(InsufficientDataError, match=message):
        plotted_points(*arguments)


@pytest.mark.parametrize(
    ("distribution", "needed"), [("weibull", 2), ("lognormal", 2), ("exponential", 1)]
)
def test_too_few_points_for_a_line_are_counted(distribution, needed):
    points = plotted_points([0, 5], [1, int(needed == 2)], [0, 3])

    with pytest.raises(InsufficientDataError) as raised:
        line_through_points(points, distribution=distribution)

    assert (raised.value.needed, raised.value.found) == (needed, needed - 1)


@pytest.mark.parametrize(
    ("arguments", "options", "message"),
    [
        (([1], [-1], [0]), {}, "n_failed must be whole and not negative"),
        (([1], [1], [0]), {"position": "mean"}, "position must be midpoint"),
        (([1, 2], [1], [0]), {}, "n_failed must have shape"),
        (([1], [1], [0]), {"entry_age": [2]}, "more units have left by age 1"),
    ],
)
def test_counts_that_cannot_be_plotted_are_refused(arguments, options, message):
    with pytest.raises(ValueError, match=message):
        plotted_points(*arguments, **options)


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"distribution": "gamma"}, "distribution must be weibull"),
        ({"distribution": "weibull", "distances": "both"}, "distances must be age"),
    ],
)
def test_lines_of_another_kind_are_refused(options, message):
    with pytest.raises(ValueError, match=message):
        line_through_points(plotted_points([1, 2], [1, 1], [0, 0]), **options)
