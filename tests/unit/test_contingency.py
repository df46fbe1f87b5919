"""Cross-tables: which test is chosen, empty lines, and what is refused."""

import numpy as np
import pytest

from analytics.errors import InsufficientDataError
from analytics.statistics.contingency import cells_by_chance, cross_table

SPARSE = [[3, 0, 1], [0, 2, 1], [1, 1, 4]]


def test_large_cells_are_tested_by_chi_square_and_small_ones_by_drawing():
    large = cross_table(np.full((3, 3), 20), n_draws=100, rng=np.random.default_rng(1))
    small = cross_table(SPARSE, n_draws=100, rng=np.random.default_rng(1))

    assert (large.method, large.p_value) == ("chi-square", 1.0)
    assert small.method == "simulated"
    assert cross_table(SPARSE).method == "chi-square"


def test_a_simulated_p_value_is_never_0():
    table = np.diag([9, 9, 9])

    found = cross_table(table, n_draws=999, rng=np.random.default_rng(1))

    assert found.method == "simulated"
    assert found.p_value == pytest.approx(1 / 1000)


def test_the_same_seed_gives_the_same_p_value():
    first, second = (
        cross_table(SPARSE, n_draws=600, rng=np.random.default_rng(7)).p_value
        for _ in range(2)
    )

    assert first == second


def test_empty_lines_change_nothing_and_have_no_residual():
    full = cross_table([[10, 3], [4, 9]])
    padded = cross_table([[10, 0, 3], [0, 0, 0], [4, 0, 9]])

    assert (padded.statistic, padded.degrees_of_freedom, padded.p_value) == (
        full.statistic, full.degrees_of_freedom, full.p_value,
    )  # fmt: skip
    assert np.isnan(padded.residual[1]).all()
    assert np.isnan(padded.residual[:, 1]).all()
    assert padded.residual[::2, ::2] == pytest.approx(full.residual)


@pytest.mark.parametrize(
    ("counts", "what"),
    [([[1, 2]], "rows"), ([[1], [2]], "columns"), ([[0, 0], [0, 0]], "rows")],
)
def test_one_line_is_not_enough(counts, what):
    with pytest.raises(InsufficientDataError, match=f"{what} with a case"):
        cross_table(counts)


@pytest.mark.parametrize(
    ("counts", "words", "options"),
    [
        ([1, 2], "two dimensions", {}),
        ([[1, -2], [1, 1]], "not negative", {}),
        ([[1, 2.5], [1, 1]], "whole", {}),
        ([[1, 2], [3, 4]], "n_draws", {"n_draws": -1}),
        ([[1, 2], [3, 4]], "rng", {"n_draws": 10}),
    ],
)
def test_what_is_no_table_is_refused(counts, words, options):
    with pytest.raises(ValueError, match=words):
        cross_table(counts, **options)


def test_a_cell_is_compared_with_what_its_margins_alone_would_give():
    cell = cells_by_chance(8, 10, 20, 50)

    assert cell.expected == pytest.approx(4)
    # (8 - 4) / sqrt(4 x 0.8 x 0.6), by hand.
    assert cell.residual == pytest.approx(4 / np.sqrt(1.92))
    assert 0 < cell.p_value < 0.05


def test_what_every_case_has_tells_nothing():
    cell = cells_by_chance(10, 10, 50, 50)

    assert np.isnan(cell.residual)
    assert np.isnan(cell.p_value)


@pytest.mark.parametrize("cell", [(11, 10, 20, 50), (3, 10, 2, 50), (0, 30, 30, 50)])
def test_a_cell_beyond_its_margins_is_refused(cell):
    with pytest.raises(ValueError, match="margins"):
        cells_by_chance(*cell)
