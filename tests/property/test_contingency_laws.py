"""What holds for every cross-table and every standardised rate."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import stats
from statsmodels.stats.contingency_tables import Table

from analytics.statistics.contingency import cross_table
from analytics.statistics.standardised import directly_standardised_rate

FEW = settings(max_examples=60, deadline=None)
SHAPES = st.tuples(st.integers(2, 5), st.integers(2, 5))
TABLES = SHAPES.flatmap(
    lambda shape: arrays(np.int64, shape, elements=st.integers(0, 40))
)


def _is_filled(table):
    return (table.sum(axis=0) > 0).all() and (table.sum(axis=1) > 0).all()


@FEW
@given(TABLES)
def test_expected_and_residuals_are_those_of_statsmodels(table):
    assume(_is_filled(table))

    found = cross_table(table)
    other = Table(table, shift_zeros=False)

    assert found.expected == pytest.approx(np.asarray(other.fittedvalues))
    assert found.residual == pytest.approx(np.asarray(other.standardized_resids))
    test = other.test_nominal_association()
    assert found.statistic == pytest.approx(test.statistic)
    assert found.degrees_of_freedom == test.df


@FEW
@given(TABLES, st.randoms(use_true_random=False))
def test_order_and_turning_change_nothing(table, random):
    assume(_is_filled(table))
    rows = list(range(len(table)))
    random.shuffle(rows)

    plain, shuffled, turned = (cross_table(t) for t in (table, table[rows], table.T))

    assert shuffled.residual == pytest.approx(plain.residual[rows])
    assert turned.residual == pytest.approx(plain.residual.T)
    assert shuffled.p_value == pytest.approx(plain.p_value)
    assert turned.p_value == pytest.approx(plain.p_value)


@FEW
@given(TABLES)
def test_a_cell_and_its_rest_are_a_table_of_two_by_two(table):
    assume(_is_filled(table))
    n = table[0, 0]
    row, column = table[0].sum(), table[:, 0].sum()
    rest = [[n, row - n], [column - n, table.sum() - row - column + n]]

    residual = cross_table(table).residual[0, 0]

    # The square of the residual is Pearson's chi-square of the cell against the rest.
    assert residual**2 == pytest.approx(
        stats.chi2_contingency(rest, correction=False).statistic
    )


@FEW
@given(
    st.lists(
        st.tuples(st.integers(0, 50), st.floats(1, 1e4), st.floats(0.1, 10)),
        min_size=1,
        max_size=8,
    ),
    st.floats(0.01, 100),
)
def test_a_rate_scales_with_exposure_and_not_with_weights(strata, factor):
    events, exposure, weight = (np.asarray(part) for part in zip(*strata, strict=True))

    plain = directly_standardised_rate(events, exposure, weight)
    longer = directly_standardised_rate(events, factor * exposure, weight)
    heavier = directly_standardised_rate(events, exposure, factor * weight)

    assert np.multiply(longer, factor) == pytest.approx(np.asarray(plain))
    assert np.asarray(heavier) == pytest.approx(np.asarray(plain))
    assert plain.low <= plain.rate * (1 + 1e-12)
    assert plain.rate <= plain.high


@FEW
@given(
    st.lists(st.tuples(st.integers(0, 50), st.floats(1, 1e4)), min_size=1, max_size=8)
)
def test_weighted_by_its_own_exposure_a_rate_is_the_crude_one(strata):
    events, exposure = (np.asarray(part) for part in zip(*strata, strict=True))

    found = directly_standardised_rate(events, exposure, exposure)

    assert found.rate == pytest.approx(events.sum() / exposure.sum())
