"""Two groups of units compared: whether they fail alike."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.errors import InsufficientDataError
from analytics.rollup.snapshot import Snapshot
from analytics.statistics.comparison import LogRank, log_rank
from analytics.statistics.gray import GrayTest, gray_test
from analytics.statistics.life import SurvivalCurve, kaplan_meier
from dashboard.filters import Filters, nearest_hint
from dashboard.queries.answer import Row
from dashboard.queries.life_ages import YEAR, share_on_curve
from dashboard.queries.life_choice import TWO, Comparison
from dashboard.queries.life_group_words import compared_in_words
from dashboard.queries.life_lives import Counts, Floats, parameters
from ingest.errors import UsageError

NOT_RECORDED = "not recorded"


@dataclass(frozen=True, slots=True)
class _Counts:
    """Counts at ages and strata; one column for each of two groups."""

    age: Floats
    stratum: NDArray[np.object_]
    n_failed: Counts
    n_other: Counts
    n_censored: Counts
    entry_age: Floats
    entry_stratum: NDArray[np.object_]
    n_entered: Counts


def compared(
    snapshot: Snapshot,
    filters: Filters,
    comparison: Comparison,
    ages: Sequence[float],
) -> Row | None:
    """Return two groups side by side, with the tests that compare them.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters
    comparison : Comparison
    ages : sequence of float
        Ages in days at which to state the share failed in each group.

    Returns
    -------
    dict or None
        by, within, n_not_recorded, groups, shares, tests, sentence, rows; None where
        nothing is compared.

    Raises
    ------
    InsufficientDataError
        Fewer than two groups with units and a recorded value, or no failure at which
        both had units at risk.
    UsageError
        A group named that has no unit under the filters.
    """
    if comparison.by is None:
        return None
    asked = parameters(filters, by=comparison.by, within=comparison.within)
    sizes = snapshot.ask("life_groups", asked, chosen="chosen_lives")
    chosen = _chosen(sizes, comparison)
    asked["groups"] = chosen
    counts = _counts(
        snapshot.ask("life_ends_by_group", asked, chosen="chosen_lives"),
        snapshot.ask("life_entries_by_group", asked, chosen="chosen_lives"),
        chosen,
    )
    curves = [_curve(counts, column) for column in range(TWO)]
    groups = [
        _group(name, curve, counts, column)
        for column, (name, curve) in enumerate(zip(chosen, curves, strict=True))
    ]
    tested = _log_rank(counts, stratified=comparison.within is not None)
    others = _gray(counts) if counts.n_other.any() else None
    missing = sizes["group_name"].isna()
    return {
        "by": comparison.by,
        "within": comparison.within,
        "n_not_recorded": int(sizes.loc[missing, "n_units"].sum()),
        "groups": groups,
        "shares": [
            row
            for column, (name, curve) in enumerate(zip(chosen, curves, strict=True))
            for row in _shares_by(name, curve, counts, column, ages)
        ],
        "tests": _tests(tested, others, comparison),
        "sentence": compared_in_words(
            groups, tested, comparison, is_part=filters.names_failures
        ),
        "rows": [
            row
            for column, (name, curve) in enumerate(zip(chosen, curves, strict=True))
            for row in _rows(name, curve, counts.n_failed[:, column], counts.age)
        ],
    }


def _chosen(sizes: pd.DataFrame, comparison: Comparison) -> list[str]:
    known = [str(name) for name in sizes["group_name"].dropna()]
    for name in comparison.groups:
        if name not in known:
            raise UsageError(
                f"No unit under the filters has {comparison.by} {name}.",
                hint=_as_sentence(nearest_hint(name, known))
                if known
                else f"No {comparison.by} is recorded under the filters.",
            )
    if len(known) < TWO:
        raise InsufficientDataError(
            f"groups of {comparison.by} with units under the filters",
            needed=TWO,
            found=len(known),
        )
    return list(dict.fromkeys(comparison.groups)) or known[:TWO]


def _as_sentence(hint: str) -> str:
    # A value keeps its capitals.
    return f"{hint[0].upper()}{hint[1:]}."


def _counts(ends: pd.DataFrame, entries: pd.DataFrame, names: Sequence[str]) -> _Counts:
    # A unit without a recorded stratum is compared with others without one.
    ends = ends.fillna({"stratum": NOT_RECORDED})
    entries = entries.fillna({"stratum": NOT_RECORDED})
    columns = {}
    for column in ("n_failed", "n_other", "n_censored"):
        wide = ends.pivot_table(
            index=["stratum", "end_age"],
            columns="group_name",
            values=column,
            aggfunc="sum",
            fill_value=0,
        ).reindex(columns=list(names), fill_value=0)
        columns[column] = wide.to_numpy(dtype=np.int64)
    late = entries.pivot_table(
        index=["stratum", "entry_age"],
        columns="group_name",
        values="n_entered",
        aggfunc="sum",
        fill_value=0,
    ).reindex(columns=list(names), fill_value=0)
    return _Counts(
        age=wide.index.get_level_values("end_age").to_numpy(dtype=np.float64),
        stratum=wide.index.get_level_values("stratum").to_numpy(dtype=object),
        entry_age=late.index.get_level_values("entry_age").to_numpy(dtype=np.float64),
        entry_stratum=late.index.get_level_values("stratum").to_numpy(dtype=object),
        n_entered=late.to_numpy(dtype=np.int64),
        **columns,
    )


def _curve(counts: _Counts, column: int) -> SurvivalCurve:
    return kaplan_meier(
        counts.age,
        counts.n_failed[:, column],
        counts.n_censored[:, column] + counts.n_other[:, column],
        entry_age=counts.entry_age,
        n_entered=counts.n_entered[:, column],
    )


def _log_rank(counts: _Counts, *, stratified: bool) -> LogRank:
    strata: Mapping[str, NDArray[np.object_]] = (
        {"stratum": counts.stratum, "entry_stratum": counts.entry_stratum}
        if stratified
        else {}
    )
    return log_rank(
        counts.age,
        counts.n_failed,
        counts.n_censored + counts.n_other,
        entry_age=counts.entry_age,
        n_entered=counts.n_entered,
        **strata,
    )


def _gray(counts: _Counts) -> GrayTest | None:
    try:
        return gray_test(
            counts.age,
            counts.n_failed,
            counts.n_other,
            counts.n_censored,
            entry_age=counts.entry_age,
            n_entered=counts.n_entered,
        )
    except InsufficientDataError:
        return None


def _tests(
    tested: LogRank, others: GrayTest | None, comparison: Comparison
) -> list[Row]:
    inside, across = (
        (f", within {comparison.within}", f", not within {comparison.within}")
        if comparison.within
        else ("", "")
    )
    rows: list[Row] = [
        {
            "test": "log-rank",
            "what": f"failures per unit at risk, age by age{inside}",
            "statistic": tested.statistic,
            "degrees_of_freedom": tested.degrees_of_freedom,
            "p_value": tested.p_value,
        }
    ]
    if others is not None:
        rows.append(
            {
                "test": "Gray",
                "what": f"share failed this way, beside other failures{across}",
                "statistic": others.statistic,
                "degrees_of_freedom": others.degrees_of_freedom,
                "p_value": others.p_value,
            }
        )
    return rows


def _group(name: str, curve: SurvivalCurve, counts: _Counts, column: int) -> Row:
    low, high = curve.median_interval()
    failed, year_low, year_high = share_on_curve(curve, YEAR)
    n_failed = int(counts.n_failed[:, column].sum())
    return {
        "group": name,
        "n_units": int(counts.n_entered[:, column].sum()),
        "n_failed": n_failed,
        "n_failed_first_year": int(counts.n_failed[counts.age <= YEAR, column].sum()),
        "failed_first_year": failed,
        "first_year_low": year_low,
        "first_year_high": year_high,
        "median_days": curve.median(),
        "median_low": low,
        "median_high": high,
    }


def _shares_by(
    name: str,
    curve: SurvivalCurve,
    counts: _Counts,
    column: int,
    ages: Sequence[float],
) -> list[Row]:
    rows: list[Row] = []
    for age in sorted(set(ages)):
        failed, low, high = share_on_curve(curve, age)
        later = int(np.searchsorted(curve.age, age, side="left"))
        is_seen = later < len(curve.age)
        rows.append(
            {
                "group": name,
                "age_days": float(age),
                "failed": failed,
                "low": low,
                "high": high,
                "n_at_risk": int(curve.n_at_risk[later]) if is_seen else 0,
                "n_failed": int(counts.n_failed[counts.age <= age, column].sum()),
            }
        )
    return rows


def _rows(name: str, curve: SurvivalCurve, failed: Counts, age: Floats) -> list[Row]:
    at_age = np.zeros(len(curve.age), dtype=np.int64)
    np.add.at(at_age, np.searchsorted(curve.age, age), failed)
    shown = np.flatnonzero((at_age > 0) | (curve.age == curve.age.max()))
    return [
        {
            "group": name,
            "age_days": float(curve.age[at]),
            "failed": 1 - float(curve.survival[at]),
            "low": 1 - float(curve.high[at]),
            "high": 1 - float(curve.low[at]),
            "n_at_risk": int(curve.n_at_risk[at]),
            "n_failed": int(at_age[at]),
        }
        for at in shown
    ]
