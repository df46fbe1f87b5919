"""What holds for every incidence by mode, and for Gray's test between groups."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from analytics.errors import InsufficientDataError
from analytics.statistics.competing_risks import cumulative_incidence, survival_without
from analytics.statistics.gray import gray_test
from analytics.statistics.life import kaplan_meier

FEW = settings(max_examples=60, deadline=None)
N_MODES = 3
FIGURES = ("incidence", "standard_error", "low", "high")


@st.composite
def units(draw, *, late=False):
    """Draw one row per unit: age, mode of failure (0 = working), entry age."""
    n = draw(st.integers(2, 25))
    age = draw(st.lists(st.integers(1, 12), min_size=n, max_size=n))
    mode = draw(st.lists(st.integers(0, N_MODES), min_size=n, max_size=n))
    # Halves: an entry never falls on an age.
    entry = [draw(st.integers(0, a - 1)) + 0.5 if late else 0.0 for a in age]
    return np.array(age, float), np.array(mode), np.array(entry)


@st.composite
def groups(draw):
    """Draw ages, then failures by the mode, by others, and censorings by group."""
    n_ages, n_groups = draw(st.integers(2, 6)), draw(st.integers(2, 4))
    cells = st.lists(
        st.integers(0, 6), min_size=n_ages * n_groups, max_size=n_ages * n_groups
    )
    counts = [np.array(draw(cells)).reshape(n_ages, n_groups) for _ in range(3)]
    return np.arange(1.0, n_ages + 1), *counts


def by_mode(mode):
    return (mode[:, None] == np.arange(1, N_MODES + 1)).astype(int)


def answered(*lives, **late):
    try:
        return gray_test(*lives, **late)
    except InsufficientDataError:
        assume(condition=False)


@FEW
@given(units(late=True))
def test_incidences_and_survival_sum_to_1_and_never_fall(rows):
    age, mode, entry = rows

    result = cumulative_incidence(age, by_mode(mode), mode == 0, entry_age=entry)

    assert result.incidence.sum(axis=1) + result.survival == pytest.approx(1)
    assert (np.diff(result.incidence, axis=0) >= 0).all()
    assert (result.standard_error >= 0).all()


@FEW
@given(units(late=True))
def test_one_mode_alone_is_the_complement_of_the_curve(rows):
    age, mode, entry = rows
    failed = mode > 0

    result = cumulative_incidence(age, failed[:, None], ~failed, entry_age=entry)
    curve = kaplan_meier(age, failed, ~failed, entry_age=entry)

    assert 1 - result.incidence[:, 0] == pytest.approx(curve.survival, abs=1e-12)


@FEW
@given(units(late=True), st.permutations(range(N_MODES)), st.randoms())
def test_order_of_rows_and_of_modes_changes_nothing(rows, modes, random):
    age, mode, entry = rows
    order = list(range(len(age)))
    random.shuffle(order)
    failed, working = by_mode(mode), mode == 0

    one = cumulative_incidence(age, failed, working, entry_age=entry)
    other = cumulative_incidence(
        age[order], failed[order][:, modes], working[order], entry_age=entry[order]
    )

    for name in FIGURES:
        assert getattr(other, name) == pytest.approx(
            getattr(one, name)[:, modes], nan_ok=True, rel=1e-9, abs=1e-12
        ), name


@FEW
@given(units(late=True))
def test_rows_a_unit_and_counts_at_distinct_ages_give_the_same(rows):
    age, mode, entry = rows
    distinct, where = np.unique(age, return_inverse=True)
    failed = np.zeros((len(distinct), N_MODES), int)
    np.add.at(failed, where, by_mode(mode))
    entries, n_entered = np.unique(entry, return_counts=True)
    halves = np.concatenate([n_entered - n_entered // 2, n_entered // 2])

    by_unit = cumulative_incidence(age, by_mode(mode), mode == 0, entry_age=entry)
    grouped = cumulative_incidence(
        distinct,
        failed,
        np.bincount(where, weights=mode == 0),
        entry_age=np.tile(entries, 2),  # each entry age in two rows
        n_entered=halves,
    )

    assert np.array_equal(by_unit.age, grouped.age)
    for name in (*FIGURES, "survival", "n_at_risk"):
        assert np.array_equal(
            getattr(by_unit, name), getattr(grouped, name), equal_nan=True
        ), name


@FEW
@given(units())
def test_many_times_the_units_divide_the_variance_by_as_many(rows):
    # Up to the tie factor (n - d) / (n - 1): hence copies of many units already.
    age, mode, _ = rows
    failed, working = by_mode(mode), (mode == 0).astype(int)

    one = cumulative_incidence(age, 500 * failed, 500 * working)
    two = cumulative_incidence(age, 1000 * failed, 1000 * working)

    assert two.incidence == pytest.approx(one.incidence, abs=1e-12)
    # A variance of 0 (all units fail at once) is a difference of sums that round.
    assert two.standard_error**2 == pytest.approx(
        one.standard_error**2 / 2, rel=2e-2, abs=1e-12
    )


@FEW
@given(units(late=True))
def test_two_modes_taken_as_one_have_the_sum_of_their_incidences(rows):
    age, mode, entry = rows
    failed = by_mode(mode)
    merged = np.stack([failed[:, 0] + failed[:, 1], failed[:, 2]], axis=1)

    apart = cumulative_incidence(age, failed, mode == 0, entry_age=entry)
    together = cumulative_incidence(age, merged, mode == 0, entry_age=entry)

    assert together.incidence[:, 0] == pytest.approx(
        apart.incidence[:, :2].sum(axis=1), abs=1e-12
    )
    assert together.incidence[:, 1] == pytest.approx(apart.incidence[:, 2], abs=1e-12)
    assert together.standard_error[:, 1] == pytest.approx(
        apart.standard_error[:, 2], rel=1e-6, abs=1e-7
    )


@FEW
@given(units(late=True))
def test_without_a_mode_no_fewer_survive_and_all_modes_multiply_to_the_curve(rows):
    # The product over modes holds without ties only: each age gets one failure.
    age, mode, entry = rows
    age = age + np.arange(len(age)) / 100

    curve = kaplan_meier(age, mode > 0, mode == 0, entry_age=entry)
    alone = [
        survival_without(
            age,
            np.stack([mode == kept, (mode > 0) & (mode != kept)], axis=1),
            mode == 0,
            column=1,
            entry_age=entry,
        ).survival
        for kept in range(1, N_MODES + 1)
    ]
    without = survival_without(age, by_mode(mode), mode == 0, column=0, entry_age=entry)

    assert (without.survival >= curve.survival - 1e-12).all()
    assert np.prod(alone, axis=0) == pytest.approx(curve.survival, abs=1e-12)


@FEW
@given(groups(), st.floats(0.01, 100))
def test_a_statistic_is_not_negative_and_knows_no_unit_of_age(lives, factor):
    age, *counts = lives

    test = answered(age, *counts)

    assert test.statistic >= 0
    assert 0 <= test.p_value <= 1
    assert 1 <= test.degrees_of_freedom < counts[0].shape[1]
    assert answered(age * factor, *counts) == test


@FEW
@given(groups(), st.randoms())
def test_order_of_ages_and_of_groups_changes_no_statistic(lives, random):
    age, *counts = lives
    rows, columns = list(range(len(age))), list(range(counts[0].shape[1]))
    random.shuffle(rows)
    random.shuffle(columns)

    one = answered(age, *counts)
    other = answered(age[rows], *(part[rows][:, columns] for part in counts))

    assert other.statistic == pytest.approx(one.statistic, rel=1e-6, abs=1e-9)
    assert other.degrees_of_freedom == one.degrees_of_freedom


@FEW
@given(groups())
def test_like_groups_differ_by_nothing(lives):
    age, *counts = lives

    test = answered(age, *(np.repeat(part[:, :1], 3, axis=1) for part in counts))

    assert test.statistic == pytest.approx(0, abs=1e-9)
    assert test.p_value == pytest.approx(1)


@FEW
@given(groups())
def test_entries_at_0_and_entries_split_into_rows_change_nothing(lives):
    age, *counts = lives
    n = sum(part.sum(axis=0) for part in counts)

    one = answered(age, *counts)
    from_new = gray_test(*lives, entry_age=[0], n_entered=[n])
    in_two_rows = gray_test(*lives, entry_age=[0, 0], n_entered=[n - n // 2, n // 2])

    assert from_new == in_two_rows == one
