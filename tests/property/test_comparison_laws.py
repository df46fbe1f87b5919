"""What holds for every comparison of groups and every set of brackets."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from analytics.statistics.life import interval_censored, log_rank
from tests.random_lives import fleets

FEW = settings(max_examples=60, deadline=None)
FACTORS = st.sampled_from([1 / 365.25, 0.5, 24, 1e4])


def compared(age, failed, entry, group, stratum):
    of_group = group[:, None] == [0, 1]
    return log_rank(
        age,
        failed[:, None] * of_group,
        (1 - failed)[:, None] * of_group,
        stratum=stratum,
        entry_age=entry,
        n_entered=of_group,
        entry_stratum=stratum,
    )


@FEW
@given(fleets(), FACTORS, st.randoms(use_true_random=False))
def test_comparisons_ask_only_for_the_order_of_ages_and_of_nothing_else(
    fleet, factor, random
):
    fleet[4][:2] = 0  # the two that stay in view are of one stratum
    age, failed, entry, group, stratum = fleet
    assume(failed[stratum == 0].any())
    order = list(range(len(age)))
    random.shuffle(order)

    one = compared(*fleet)
    other = compared(*(column[order] for column in fleet))
    bent = compared(
        (age * factor) ** 1.5, failed, (entry * factor) ** 1.5, group, stratum
    )
    swapped = compared(age, failed, entry, 1 - group, 1 - stratum)

    for result in (other, bent, swapped):
        assert result.statistic == pytest.approx(one.statistic, abs=1e-9)
    assert list(swapped.n_failed) == list(one.n_failed[::-1])
    assert one.n_failed.sum() == failed.sum()
    assert one.n_expected.sum() == pytest.approx(failed.sum())


@FEW
@given(fleets())
def test_strata_laid_one_after_the_other_in_age_are_the_same_test(fleet):
    fleet[4][:2] = 0
    age, failed, entry, group, stratum = fleet
    assume(failed[stratum == 0].any())

    within = compared(*fleet)
    apart = compared(
        age + 100 * stratum, failed, entry + 100 * stratum, group, np.zeros(len(age))
    )

    assert within.statistic == pytest.approx(apart.statistic, abs=1e-9)
    assert within.n_expected == pytest.approx(apart.n_expected)


@st.composite
def brackets(draw):
    drawn = draw(
        st.lists(
            st.tuples(
                st.integers(0, 9), st.integers(0, 5), st.booleans(), st.integers(1, 4)
            ),
            min_size=1,
            max_size=20,
        )
    )
    lower, width, working, n_units = (
        np.array(column) for column in zip(*drawn, strict=True)
    )
    return lower.astype(float), np.where(working, np.inf, lower + width), n_units


@FEW
@given(brackets(), FACTORS)
def test_brackets_may_come_in_any_order_grouping_and_unit(drawn, factor):
    lower, upper, n_units = drawn

    one = interval_censored(lower, upper, n_units=n_units)
    rows = np.repeat(np.arange(len(lower)), n_units)[::-1]
    by_unit = interval_censored(lower[rows], upper[rows])
    longer = interval_censored(lower * factor, upper * factor, n_units=n_units)

    for other, scale in ((by_unit, 1), (longer, factor)):
        assert other.lower == pytest.approx(one.lower * scale)
        assert other.upper == pytest.approx(one.upper * scale)
        assert other.n_units == one.n_units
        # Where several spreads are as likely, each gives the brackets the same chance.
        for low, high in zip(lower, upper, strict=True):
            assert chance(other, low * scale, high * scale) == pytest.approx(
                chance(one, low, high), abs=1e-4
            )


@FEW
@given(brackets(), st.floats(0, 20))
def test_survival_left_open_lies_between_0_and_1_and_falls(drawn, age):
    estimate = interval_censored(drawn[0], drawn[1], n_units=drawn[2])

    ages = np.sort([age, *estimate.lower, 25])
    low, high = estimate.survival_range(ages)

    assert (low <= high).all()
    assert (low >= 0).all()
    assert (high <= 1).all()
    assert (np.diff(low) <= 0).all()
    assert (np.diff(high) <= 0).all()
    within = ((estimate.lower < age) & (age < estimate.upper)) * estimate.mass
    open_at_age = np.subtract(*estimate.survival_range(age)[::-1])
    assert open_at_age == pytest.approx(within.sum(), abs=1e-12)


def chance(estimate, lower, upper):
    """Return what an estimate gives (lower, upper], or the point where both are one."""
    if lower == upper:
        point = (estimate.lower == lower) & (estimate.upper == upper)
        return estimate.mass[point].sum()
    by_lower = estimate.survival_range(lower)[1]
    by_upper = 0.0 if np.isinf(upper) else estimate.survival_range(upper)[0]
    return by_lower - by_upper
