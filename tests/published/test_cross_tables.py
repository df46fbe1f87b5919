"""Cross-tables: Fisher's exact test, chi-square, adjusted residuals, drawn tables.

Data    The lady tasting tea, 3 of 4 and 1 of 4 (Fisher 1935), as in the example of R's
        `fisher.test`; heart attacks of physicians, 189 of 11 034 without and 104 of
        11 037 with aspirin (Agresti, the Physicians' Health Study); party by gender,
        Agresti (2007) p. 39, as in the example of R's `chisq.test`.
Values  0.4857, chi-square 30.07015 with p 2.953589e-07, and the adjusted residuals
        (Haberman, Biometrics 29 (1973) 205: R's `stdres`) are printed by R. 25.01 is
        in Agresti's book; its p-value was cross-checked between R and SciPy.
Read    The tea and the physicians 2026-11-25, R's printed residuals 2026-11-27.
Digits  Printed figures to half a unit of their last digit, the others to 1e-6
        relative. A p-value from drawn tables lies within four standard errors of the
        exact one, which adds up all tables there are.
"""

import itertools
import math

import numpy as np
import pytest
from statsmodels.stats.contingency_tables import Table

from analytics.statistics.contingency import cross_table

TEA = [[3, 1], [1, 3]]
ASPIRIN = [[189, 10_845], [104, 10_933]]
PARTY = [[762, 327, 468], [484, 239, 477]]  # democrat, independent, republican
N_DRAWS = 20_000


def test_the_tea_is_tested_exactly():
    found = cross_table(TEA)

    assert found.method == "exact"
    assert found.p_value == pytest.approx(0.4857, abs=5e-5)
    assert (found.statistic, found.degrees_of_freedom) == (2, 1)


def test_the_physicians_are_tested_by_chi_square():
    found = cross_table(ASPIRIN)

    assert found.method == "chi-square"
    assert found.statistic == pytest.approx(25.01, abs=5e-3)
    assert found.statistic == pytest.approx(25.0138839672, rel=1e-6)
    assert found.p_value == pytest.approx(5.69189697374e-07, rel=1e-6)


def test_residuals_of_party_by_gender_are_those_that_r_prints():
    found = cross_table(PARTY)

    printed = [4.5020535, 0.6994517, -5.3159455]
    assert found.residual[0] == pytest.approx(printed, abs=5e-8)
    assert found.residual[1] == pytest.approx(np.negative(printed), abs=5e-8)
    assert found.statistic == pytest.approx(30.07015, abs=5e-6)
    assert found.p_value == pytest.approx(2.953589e-07, abs=5e-14)
    assert found.degrees_of_freedom == 2


def test_residuals_of_party_by_gender_are_those_of_statsmodels():
    other = Table(np.array(PARTY), shift_zeros=False)

    found = cross_table(PARTY)

    assert found.residual == pytest.approx(
        np.asarray(other.standardized_resids), rel=1e-9
    )


@pytest.mark.parametrize(
    "table", [[[3, 0, 2], [1, 4, 1]], [[5, 1, 0], [2, 2, 3]], [[2, 2, 2], [1, 3, 1]]]
)
def test_drawn_tables_give_the_p_value_of_all_tables_there_are(table):
    exact = _all_tables(np.array(table))

    found = cross_table(table, n_draws=N_DRAWS, rng=np.random.default_rng(11))

    assert found.method == "simulated"
    error = math.sqrt(exact * (1 - exact) / N_DRAWS)
    assert found.p_value == pytest.approx(exact, abs=4 * error)


def _all_tables(table):
    # Share of the tables of two rows with these margins that are as far from chance.
    columns, first = table.sum(axis=0), int(table[0].sum())
    expected = np.outer(table.sum(axis=1), columns) / table.sum()

    def distance(row):
        return float(
            (((np.array([row, columns - row]) - expected) ** 2) / expected).sum()
        )

    seen = distance(table[0])
    ways = {
        row: math.prod(math.comb(n, k) for n, k in zip(columns, row, strict=True))
        for row in itertools.product(*(range(n + 1) for n in columns))
        if sum(row) == first
    }
    far = sum(n for row, n in ways.items() if distance(np.array(row)) >= seen - 1e-9)
    return far / sum(ways.values())
