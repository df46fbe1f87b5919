"""Which modes come together with which symptoms, cable suppliers and environments."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.errors import InsufficientDataError
from analytics.rollup.snapshot import Snapshot
from analytics.statistics.contingency import (
    SMALL_EXPECTED,
    CrossTable,
    cells_by_chance,
    cross_table,
)
from analytics.statistics.counts import Counts, Floats
from analytics.statistics.intervals import benjamini_hochberg
from dashboard.filters import Filters
from dashboard.queries.answer import Row
from dashboard.queries.frequencies_rates import DISCOVERIES
from ingest import catalogue

DIMENSIONS = ("symptom", "cable_supplier", "environment")
LISTS = {"symptom": "symptoms", "environment": "environments"}
N_DRAWS = 999
SEED = 20260101  # the same records give the same figures
ANY = ""  # the row of the question that counts each case with a symptom once


@dataclass(frozen=True, slots=True, eq=False)
class _Pairs:
    """Cases by mode and value."""

    modes: Sequence[str]
    values: Sequence[str]
    n: Counts  # (modes, values)
    n_row: Counts  # (modes, 1): cases of the mode with a value on record
    n_total: int
    n_not_recorded: int


def cross_tables(
    snapshot: Snapshot, filters: Filters
) -> tuple[dict[str, list[Row]], list[Row]]:
    """Return modes against symptoms, cable suppliers and environments.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters

    Returns
    -------
    cells : dict
        By dimension (`DIMENSIONS`), rows: mode, label, value, value_label, n_cases,
        n_compared (all confirmed cases with a value on record), expected, residual
        (adjusted standardised), p_value, adjusted_p (over the cells of the table),
        is_small (fewer than 5 expected), is_unusual (adjusted p at most 0.05). The most
        unusual first.
    tests : list of dict
        dimension, value (a symptom; None: the whole table), n_cases, n_not_recorded
        (left out), n_small, n_cells, statistic, degrees_of_freedom, p_value,
        adjusted_p, method ("chi-square", "exact" or "simulated"). A case may have
        several symptoms, so each symptom is tested for itself: told or not, by mode.
    """
    found = snapshot.ask("mode_pairs", filters.parameters(), chosen="chosen_cases")
    cells: dict[str, list[Row]] = {}
    tests: list[Row] = []
    for dimension in DIMENSIONS:
        pairs = _pairs(found[found["dimension"] == dimension])
        cells[dimension] = _cells(dimension, pairs)
        tests += _tests(dimension, pairs)
    return cells, tests


def _pairs(found: pd.DataFrame) -> _Pairs:
    is_symptom = bool((found["value"] == ANY).any())
    known = found[found["value"].notna()]
    n_not_recorded = int(found.loc[found["value"].isna(), "n_cases"].sum())
    wide = known.pivot_table(
        index="mode", columns="value", values="n_cases", aggfunc="sum", fill_value=0
    )
    each = wide.pop(ANY) if is_symptom else wide.sum(axis=1)
    order = each.sort_values(ascending=False, kind="stable").index
    wide = wide.loc[order, wide.sum().sort_values(ascending=False, kind="stable").index]
    return _Pairs(
        modes=[str(mode) for mode in wide.index],
        values=[str(value) for value in wide.columns],
        n=wide.to_numpy(dtype=np.int64).reshape(len(wide.index), len(wide.columns)),
        n_row=each.loc[order].to_numpy(dtype=np.int64)[:, None],
        n_total=int(each.sum()),
        n_not_recorded=n_not_recorded,
    )


def _cells(dimension: str, pairs: _Pairs) -> list[Row]:
    if not pairs.n.size:
        return []
    by_chance = cells_by_chance(
        pairs.n, pairs.n_row, pairs.n.sum(axis=0), pairs.n_total
    )
    is_known = np.isfinite(by_chance.p_value)
    adjusted = np.full(pairs.n.shape, np.nan)
    if is_known.any():
        tested = benjamini_hochberg(by_chance.p_value[is_known], rate=DISCOVERIES)
        adjusted[is_known] = tested.adjusted
    modes = catalogue.failure_modes()
    labels = _labels(dimension)
    rows: list[Row] = [
        {
            "mode": mode,
            "label": modes[mode].label,
            "value": value,
            "value_label": labels.get(value, value),
            "n_cases": int(pairs.n[i, j]),
            "n_compared": pairs.n_total,
            "expected": float(by_chance.expected[i, j]),
            "residual": _number(by_chance.residual, i, j),
            "p_value": _number(by_chance.p_value, i, j),
            "adjusted_p": _number(adjusted, i, j),
            "is_small": bool(by_chance.expected[i, j] < SMALL_EXPECTED),
            "is_unusual": bool(adjusted[i, j] <= DISCOVERIES),
        }
        for i, mode in enumerate(pairs.modes)
        for j, value in enumerate(pairs.values)
    ]
    return sorted(rows, key=_least_likely)


def _least_likely(row: Row) -> tuple[float, float]:
    p_value, residual = row["p_value"], row["residual"]
    if p_value is None or residual is None:
        return (2.0, 0.0)
    return (float(str(p_value)), -abs(float(str(residual))))


def _number(values: Floats, i: int, j: int) -> float | None:
    value = float(values[i, j])
    return value if np.isfinite(value) else None


def _tests(dimension: str, pairs: _Pairs) -> list[Row]:
    if dimension != "symptom":
        return [_test(dimension, None, pairs, table) for table in _tested(pairs.n)]
    rows = []
    for j, value in enumerate(pairs.values):
        told = pairs.n[:, [j]]
        rows += [
            _test(dimension, value, pairs, table)
            for table in _tested(np.hstack([told, pairs.n_row - told]))
        ]
    if rows:
        tested = benjamini_hochberg(
            [float(str(row["p_value"])) for row in rows], rate=DISCOVERIES
        )
        rows = [
            row | {"adjusted_p": float(adjusted)}
            for row, adjusted in zip(rows, tested.adjusted, strict=True)
        ]
    return rows


def _tested(counts: Counts) -> list[CrossTable]:
    # Each table is drawn by a seed of its own: no table bears on another.
    try:
        return [cross_table(counts, n_draws=N_DRAWS, rng=np.random.default_rng(SEED))]
    except InsufficientDataError:
        return []


def _test(dimension: str, value: str | None, pairs: _Pairs, table: CrossTable) -> Row:
    return {
        "dimension": dimension,
        "value": value,
        "value_label": None if value is None else _labels(dimension).get(value, value),
        "n_cases": pairs.n_total,
        "n_not_recorded": pairs.n_not_recorded,
        "n_small": int((table.expected < SMALL_EXPECTED).sum()),
        "n_cells": int(table.expected.size),
        "statistic": table.statistic,
        "degrees_of_freedom": table.degrees_of_freedom,
        "p_value": table.p_value,
        "adjusted_p": table.p_value,
        "method": table.method,
    }


def _labels(dimension: str) -> Mapping[str, str]:
    if dimension not in LISTS:
        return {}
    return {code: row.label for code, row in catalogue.codes(LISTS[dimension]).items()}
