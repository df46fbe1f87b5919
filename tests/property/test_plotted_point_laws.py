"""What holds for the points of every probability plot, and the line through them."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from analytics.statistics.plotted_points import line_through_points, plotted_points

FEW = settings(max_examples=60, deadline=None)
POSITIONS = st.sampled_from(["midpoint", "median-rank", "benard"])
LAWS = st.sampled_from(["weibull", "lognormal", "exponential"])


@st.composite
def life_counts(draw):
    """Draw (age, failed, censored) with failures at two distinct ages at least."""
    ages = draw(st.lists(st.integers(1, 2000), min_size=2, max_size=12, unique=True))
    count = st.integers(0, 9)
    failed = [draw(count) for _ in ages]
    censored = [draw(count) for _ in ages]
    failed[:2] = [failed[0] + 1, failed[1] + 1]
    return np.array(ages, float), np.array(failed), np.array(censored)


@FEW
@given(life_counts(), POSITIONS)
def test_points_rise_strictly_between_0_and_1(counts, position):
    points = plotted_points(*counts, position=position)

    assert (np.diff(points.age) > 0).all()
    assert (np.diff(points.failed_fraction) > 0).all()
    assert 0 < points.failed_fraction[0] <= points.failed_fraction[-1] < 1
    assert points.n_failed.sum() == counts[1].sum()


@FEW
@given(life_counts(), POSITIONS, st.permutations(range(24)))
def test_rows_split_and_shuffled_give_the_same_points(counts, position, order):
    ages, failed, censored = counts
    order = [i for i in order if i < 2 * len(ages)]
    age = np.tile(ages, 2)[order]
    n_failed = np.concatenate([failed // 2, failed - failed // 2])[order]
    n_censored = np.concatenate([censored // 3, censored - censored // 3])[order]

    whole = plotted_points(*counts, position=position)
    split = plotted_points(age, n_failed, n_censored, position=position)

    assert list(split.age) == list(whole.age)
    assert split.failed_fraction == pytest.approx(whole.failed_fraction, rel=1e-12)


@FEW
@given(life_counts())
def test_doubling_all_counts_leaves_the_midpoints(counts):
    ages, failed, censored = counts

    one = plotted_points(*counts).failed_fraction
    two = plotted_points(ages, 2 * failed, 2 * censored).failed_fraction

    assert two == pytest.approx(one, rel=1e-12)


@FEW
@given(life_counts(), st.sampled_from(["median-rank", "benard"]))
def test_ranks_of_many_units_come_near_the_midpoints(counts, position):
    ages, failed, censored = counts
    many = ages, 2000 * failed, 2000 * censored

    by_rank = plotted_points(*many, position=position).failed_fraction

    # They differ by less than one unit of at least 4000.
    middle = plotted_points(*many).failed_fraction
    assert by_rank == pytest.approx(middle, abs=2.5e-4)


@FEW
@given(st.integers(2, 60))
def test_ranks_without_censoring_are_medians_of_the_beta_law(n):
    points = plotted_points(
        np.arange(1, n + 1), np.ones(n), np.zeros(n), position="median-rank"
    )

    ranks = np.arange(1, n + 1)
    assert points.failed_fraction == pytest.approx(
        stats.beta(ranks, n + 1 - ranks).median(), rel=1e-9
    )


@FEW
@given(
    life_counts(), POSITIONS, LAWS, st.sampled_from(["age", "fraction"]),
    st.floats(1e-6, 1e6),
)  # fmt: skip
def test_the_unit_of_age_changes_only_the_scale_of_the_line(
    counts, position, distribution, distances, factor
):
    ages, failed, censored = counts
    points = plotted_points(ages, failed, censored, position=position)
    scaled = plotted_points(ages * factor, failed, censored, position=position)

    asked = {"distribution": distribution, "distances": distances}
    one, other = (line_through_points(p, **asked) for p in (points, scaled))

    if distribution == "lognormal":
        shift = other.parameters["mu"] - one.parameters["mu"]
        assert shift == pytest.approx(np.log(factor), abs=1e-8)
        assert other.parameters["sigma"] == pytest.approx(one.parameters["sigma"])
    else:
        assert other.parameters["scale"] == pytest.approx(
            one.parameters["scale"] * factor, rel=1e-8
        )
    assert other.r_squared == pytest.approx(one.r_squared, abs=1e-7)


@FEW
@given(life_counts(), LAWS)
def test_the_line_along_the_fraction_is_never_the_steeper_one(counts, distribution):
    points = plotted_points(*counts)

    along_age = line_through_points(points, distribution=distribution)
    along_fraction = line_through_points(
        points, distribution=distribution, distances="fraction"
    )

    for name, sign in (("shape", 1), ("sigma", -1)):
        if name in along_age.parameters:
            steeper = sign * along_age.parameters[name]
            assert sign * along_fraction.parameters[name] <= steeper + 1e-9
