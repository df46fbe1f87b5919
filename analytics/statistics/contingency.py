"""Tables of counts by two attributes: what stands out, and whether anything does.

Association only: a table of counts says which pairs come together more or less often
than by chance, never why.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy import special, stats

from analytics.errors import InsufficientDataError
from analytics.statistics.counts import Counts, Floats, checked_counts

Method = Literal["chi-square", "exact", "simulated"]

SMALL_EXPECTED = 5  # Cochran (1954): below, the chi-square distribution is a poor guide
TWO = 2
BLOCK = 250  # tables drawn at once: memory stays flat
ROUNDING = 1e-9  # equal statistics may differ in the last places


@dataclass(frozen=True, slots=True, eq=False)
class CrossTable:
    """What chance would put into each cell, and how far the counts are from it."""

    expected: Floats  # (r, c)
    residual: Floats  # (r, c): adjusted standardised; nan in an empty row or column
    statistic: float  # Pearson's chi-square
    degrees_of_freedom: int
    p_value: float
    method: Method


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """Cells against what chance would put into them; expected and residual as there."""

    expected: Floats
    residual: Floats
    p_value: Floats  # exact: twice the smaller hypergeometric tail, at most 1


def cross_table(
    counts: ArrayLike, *, n_draws: int = 0, rng: np.random.Generator | None = None
) -> CrossTable:
    """Test whether two attributes go together, and show in which cells.

    Parameters
    ----------
    counts : array of int, shape (r, c)
        Cases by row and column; each case counts in one cell. Empty rows and columns
        change nothing.
    n_draws : int, default 0
        Tables to draw where cells are small; 0: none is drawn.
    rng : numpy.random.Generator, optional
        Needed with `n_draws`.

    Returns
    -------
    CrossTable
        method says where the p-value comes from: "exact" (Fisher, two rows and two
        columns with a cell that expects fewer than 5), "simulated" (tables drawn with
        the margins as they are, where a cell expects fewer than 5), or "chi-square"
        (its distribution; with `n_draws` 0 also where cells are small).

    Raises
    ------
    InsufficientDataError
        Fewer than two rows or two columns with a case.
    ValueError
        Not a table of whole counts, a negative `n_draws`, draws without `rng`.

    Notes
    -----
    expected = row x column / n; residual = (count - expected) / sqrt(expected (1 -
    row / n) (1 - column / n)) (Haberman 1973), about standard normal in large tables.
    Simulated p = (1 + tables with a statistic at least as large) / (1 + draws), by
    Patefield's way of drawing (1981). Fisher's p adds up the tables no likelier than
    the one seen. Checked against tests/published/test_cross_tables.py.
    """
    table = np.asarray(counts)
    if table.ndim != TWO:
        raise ValueError(f"counts must have two dimensions, got shape {table.shape}")
    table = checked_counts("counts", table, table.shape)
    if n_draws < 0:
        raise ValueError(f"n_draws must not be negative, got {n_draws}")
    if n_draws and rng is None:
        raise ValueError("rng is needed where tables are drawn")
    rows, columns = table.sum(axis=1), table.sum(axis=0)
    for what, sums in (("rows", rows), ("columns", columns)):
        n_filled = int(np.count_nonzero(sums))
        if n_filled < TWO:
            raise InsufficientDataError(
                f"{what} with a case", needed=TWO, found=n_filled
            )
    by_chance, residual = _by_chance(table, rows[:, None], columns, table.sum())
    filled = table[np.ix_(rows > 0, columns > 0)]
    expected = by_chance[np.ix_(rows > 0, columns > 0)]
    statistic = _chi_square(filled, expected)
    freedom = (filled.shape[0] - 1) * (filled.shape[1] - 1)
    method, p_value = _tested(filled, expected, statistic, n_draws, rng)
    return CrossTable(
        expected=by_chance,
        residual=residual,
        statistic=statistic,
        degrees_of_freedom=freedom,
        p_value=p_value,
        method=method,
    )


def cells_by_chance(
    count: ArrayLike, n_row: ArrayLike, n_column: ArrayLike, n_total: ArrayLike
) -> Cells:
    """Compare cells with what their margins alone would put into them.

    Also for attributes of which a case may have several, such as symptoms: each cell
    then is a table of two by two of its own (has the one or not, the other or not).

    Parameters
    ----------
    count, n_row, n_column, n_total : array of int
        Broadcast against each other: cases with both attributes, with the one, with
        the other, and all.

    Returns
    -------
    Cells
        nan where the one or the other is in no case or in all.

    Raises
    ------
    ValueError
        A count that is negative or not whole, or more than its margins allow.
    """
    shaped = np.broadcast_arrays(count, n_row, n_column, n_total)
    names = ("count", "n_row", "n_column", "n_total")
    n, row, column, total = (
        checked_counts(name, part, part.shape)
        for name, part in zip(names, shaped, strict=True)
    )
    fits = (n <= row) & (n <= column) & (row + column - n <= total)
    if not fits.all():
        raise ValueError("a cell must not hold more, or fewer, than its margins allow")
    expected, residual = _by_chance(n, row, column, total)
    known = np.isfinite(residual)
    p_value = np.full(n.shape, np.nan)
    p_value[known] = _cell_p_values(n[known], row[known], column[known], total[known])
    return Cells(expected, residual, p_value)


def _by_chance(
    n: Counts, row: Counts, column: Counts, total: Counts
) -> tuple[Floats, Floats]:
    known = (row > 0) & (column > 0) & (row < total) & (column < total)
    all_of = np.maximum(total, 1)
    expected = row * (column / all_of)
    variance = expected * (1 - row / all_of) * (1 - column / all_of)
    residual = np.full(n.shape, np.nan)
    np.divide(
        n - expected,
        np.sqrt(variance, where=known, out=np.ones(n.shape)),
        out=residual,
        where=known,
    )
    return expected, residual


def _cell_p_values(n: Counts, row: Counts, column: Counts, total: Counts) -> Floats:
    lower = stats.hypergeom.cdf(n, total, row, column)
    upper = stats.hypergeom.sf(n - 1, total, row, column)
    return np.asarray(np.minimum(1, 2 * np.minimum(lower, upper)), dtype=np.float64)


def _chi_square(table: Counts, expected: Floats) -> float:
    return float(((table - expected) ** 2 / expected).sum())


def _tested(
    table: Counts,
    expected: Floats,
    statistic: float,
    n_draws: int,
    rng: np.random.Generator | None,
) -> tuple[Method, float]:
    is_small = bool((expected < SMALL_EXPECTED).any())
    if is_small and table.shape == (TWO, TWO):
        return "exact", float(stats.fisher_exact(table).pvalue)
    if is_small and n_draws and rng is not None:
        return "simulated", _simulated(table, expected, statistic, n_draws, rng)
    freedom = (table.shape[0] - 1) * (table.shape[1] - 1)
    return "chi-square", float(special.chdtrc(freedom, statistic))


def _simulated(
    table: Counts,
    expected: Floats,
    statistic: float,
    n_draws: int,
    rng: np.random.Generator,
) -> float:
    drawing = stats.random_table(table.sum(axis=1), table.sum(axis=0))
    at_least = 0
    for begin in range(0, n_draws, BLOCK):
        drawn = drawing.rvs(
            size=min(BLOCK, n_draws - begin), method="patefield", random_state=rng
        )
        found = ((drawn - expected) ** 2 / expected).sum(axis=(1, 2))
        at_least += int((found >= statistic * (1 - ROUNDING)).sum())
    return (1 + at_least) / (1 + n_draws)
