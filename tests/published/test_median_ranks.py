"""Median ranks, and Benard's approximation to them.

Data    Samples of 5, 10 and 20 units that have all failed.
Values  The tables of median ranks (L. G. Johnson 1951; K. C. Kapur and L. R. Lamberson,
        Reliability in Engineering Design), from memory: .1294 .3138 .5 .6862 .8706 for
        5 units; .0670 .1623 .2586 .3551 .4517 .5483 .6449 .7414 .8377 .9330 for 10.
        For 20 units no printed figure: medians of the beta law by SciPy and by R.
        Benard: (rank - 0.3) / (n + 0.4).
Read    2026-11-25.
Digits  Four decimals for 5 and 10 units; 1e-7 relative for 20.
"""

import numpy as np
import pytest

from analytics.statistics.plotted_points import plotted_points

OF_5 = [0.1294, 0.3138, 0.5, 0.6862, 0.8706]
OF_10 = [0.067, 0.1623, 0.2586, 0.3551, 0.4517, 0.5483, 0.6449, 0.7414, 0.8377, 0.933]
FIRST_10_OF_20 = [
    0.0340636710752, 0.0825096600032, 0.131473680584, 0.180549979409, 0.229667578206,
    0.278804554031, 0.327951907203, 0.377105205179, 0.426261933032, 0.47542045749,
]  # fmt: skip


def positions(n, position, n_failed=None):
    ages = np.arange(1, n + 1)
    failed = ages <= (n_failed or n)
    points = plotted_points(ages, failed, ~failed, position=position)
    return points.failed_fraction


@pytest.mark.parametrize(("n", "table"), [(5, OF_5), (10, OF_10)])
def test_median_ranks_match_the_tables(n, table):
    assert positions(n, "median-rank") == pytest.approx(table, abs=5e-5)


def test_median_ranks_of_20_units_match_two_libraries():
    ranks = positions(20, "median-rank")

    assert ranks[:10] == pytest.approx(FIRST_10_OF_20, rel=1e-7)
    assert ranks[10:] == pytest.approx(1 - ranks[9::-1], rel=1e-9)


def test_units_still_working_at_the_end_change_no_rank():
    whole = positions(20, "median-rank")

    assert positions(20, "median-rank", n_failed=7) == pytest.approx(whole[:7])


@pytest.mark.parametrize("n", [5, 10, 20])
def test_the_approximation_follows_its_formula_and_stays_close(n):
    ranks = positions(n, "benard")

    assert ranks == pytest.approx((np.arange(1, n + 1) - 0.3) / (n + 0.4), rel=1e-12)
    assert ranks == pytest.approx(positions(n, "median-rank"), abs=1.3e-3)
