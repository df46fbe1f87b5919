"""Groups of units side by side: crude rates, and rates as if all were of like age."""

import math
from collections.abc import Sequence
from typing import Any, cast

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.rollup.snapshot import Snapshot
from analytics.statistics.counts import Counts, Floats
from analytics.statistics.intervals import benjamini_hochberg, poisson_interval
from analytics.statistics.standardised import (
    directly_standardised_rate,
    shrunken_ratio,
    standardised_ratio,
)
from dashboard.queries.answer import Row
from dashboard.queries.frequencies_basis import (
    AGE_FROM,
    AGE_TO,
    DAYS_A_YEAR,
    PER_UNITS,
    Basis,
    span_parameters,
    unit_parameters,
)
from dashboard.queries.frequencies_rates import DISCOVERIES, rate_of

DIMENSIONS = (
    "model",
    "lot",
    "hardware_revision",
    "cable_supplier",
    "region",
    "environment",
    "site",
)
ROUNDING = 1e-12  # sums of the same years in another order
LARGE = 0.1  # a group with more of the expected failures is held against the others


def ages_and_groups(
    snapshot: Snapshot, basis: Basis
) -> tuple[list[Row], dict[str, list[Row]]]:
    """Return the rate by age, and the rates of groups as if all were of like age.

    Parameters
    ----------
    snapshot : Snapshot
    basis : Basis

    Returns
    -------
    ages : list of dict
        from_days, to_days (None: and older), n_failures, unit_years, rate, low, high.
    groups : dict
        By dimension (`DIMENSIONS`), rows: value (None: not recorded), n_units,
        unit_years, n_failures, crude, crude_low, crude_high, standardised, low, high
        (directly standardised, gamma limits), covered (share of the fleet's years in
        ages that the group has lived: the standardised rate is about these),
        n_compared (failures at ages that those it is held against have lived too),
        expected, ratio, ratio_low, ratio_high (observed over expected at the fleet's
        rates by age; None where nothing is expected), compared_with ("fleet" or
        "others"), level (the ratio drawn towards 1 the fewer failures are expected),
        p_value, adjusted_p, is_unusual. The highest level first. Empty where no rate
        can be given.
    """
    if basis.refused or basis.span is None:
        return [], {name: [] for name in DIMENSIONS}
    asked = unit_parameters(basis.filters) | span_parameters(snapshot, basis.span)
    service = snapshot.ask("service_by_age", asked, chosen="chosen_units")
    fleet = _by_band(service, basis.counts, "all")
    _, _, years, n_failures = fleet
    ages = [
        {
            "from_days": start,
            "to_days": stop if stop != AGE_TO[-1] else None,
            "n_failures": int(n),
        }
        | rate_of(int(n), float(lived))
        for start, stop, lived, n in zip(
            AGE_FROM, AGE_TO, years[0], n_failures[0], strict=True
        )
        if lived
    ]
    groups = {
        name: _groups(*_by_band(service, basis.counts, name), years[0], n_failures[0])
        for name in DIMENSIONS
    }
    return ages, groups


def _by_band(
    service: pd.DataFrame, counts: pd.DataFrame, dimension: str
) -> tuple[Sequence[str | None], Counts, Floats, Counts]:
    """Return values, units, years by value and band, failures by value and band."""
    lived = service[service["dimension"] == dimension]
    failed = counts[counts["dimension"] == dimension]
    both = pd.concat([lived["value"], failed["value"]])
    code, known = pd.factorize(both, use_na_sentinel=False)
    row, failed_row = code[: len(lived)], code[len(lived) :]
    band, failed_band = (
        np.searchsorted(AGE_FROM, part["age_from"].to_numpy(dtype=np.int64))
        for part in (lived, failed)
    )
    n_units = np.zeros(len(known), dtype=np.int64)
    years = np.zeros((len(known), len(AGE_FROM)))
    n_failures = np.zeros(years.shape, dtype=np.int64)
    np.add.at(n_units, row, lived["n_units"].to_numpy(dtype=np.int64))
    np.add.at(
        years, (row, band), lived["unit_days"].to_numpy(dtype=np.float64) / DAYS_A_YEAR
    )
    np.add.at(
        n_failures,
        (failed_row, failed_band),
        failed["n_cases"].to_numpy(dtype=np.int64),
    )
    names = [None if pd.isna(name) else str(name) for name in known.tolist()]
    return names, n_units, years, n_failures


def _groups(
    names: Sequence[str | None],
    n_units: Counts,
    years: Floats,
    n_failures: Counts,
    fleet_years: Floats,
    fleet_failures: Counts,
) -> list[Row]:
    if all(name is None for name in names):
        return []
    total_years, total_failures = years.sum(axis=1), n_failures.sum(axis=1)
    crude_low, crude_high = poisson_interval(total_failures, total_years)
    # Of ages that a group has not lived its rate is not known: they get no weight, and
    # how much of the fleet's life is left is said.
    weight = np.where(years > 0, fleet_years, 0.0)
    like_age = directly_standardised_rate(n_failures, years, weight)
    compared = _compared(years, n_failures, fleet_years, fleet_failures)
    columns: dict[str, NDArray[Any]] = {
        "n_units": n_units,
        "n_failures": total_failures,
        "unit_years": total_years,
        "crude": PER_UNITS * total_failures / total_years,
        "crude_low": PER_UNITS * crude_low,
        "crude_high": PER_UNITS * crude_high,
        "standardised": PER_UNITS * like_age.rate,
        "low": PER_UNITS * like_age.low,
        "high": PER_UNITS * like_age.high,
        "covered": weight.sum(axis=1) / fleet_years.sum(),
        **compared,
    }
    values = {name: column.tolist() for name, column in columns.items()}
    rows: list[Row] = [
        {"value": name}
        | {column: _known(listed[i]) for column, listed in values.items()}
        for i, name in enumerate(names)
    ]
    return sorted(rows, key=_highest_level)


def _known(value: object) -> object:
    # Not comparable is not a number, and infinite stays what it is.
    return None if value != value else value  # noqa: PLR0124 - nan is unlike itself


def _highest_level(row: Row) -> tuple[float, str]:
    level = cast("float | None", row["level"])
    return (math.inf if level is None else -level, str(row["value"] or ""))


def _compared(
    years: Floats, n_failures: Counts, fleet_years: Floats, fleet_failures: Counts
) -> dict[str, NDArray[Any]]:
    """Return observed over expected of each group; nan where nothing is expected."""
    rate = _rate(fleet_failures, fleet_years)
    expected = (rate * years).sum(axis=1)
    observed = n_failures.sum(axis=1)
    is_large = expected > LARGE * fleet_failures.sum()
    # The own failures of a large group would make what it is held against: only the
    # others count, at ages that both have lived.
    others_years = fleet_years - years
    others_years[others_years < ROUNDING * fleet_years] = 0
    both = (years > 0) & (others_years > 0)
    others = np.where(both, fleet_failures - n_failures, 0)
    n_others = others.sum(axis=1)
    by_others = (_rate(others, others_years) * np.where(both, years, 0)).sum(axis=1)
    expected = np.where(is_large, by_others, expected)
    observed = np.where(is_large, np.where(both, n_failures, 0).sum(axis=1), observed)
    ratio, low, high, p_value = (np.full(len(years), np.nan) for _ in range(4))
    for chosen, beside in (
        (~is_large & (expected > 0), {}),
        (
            is_large & (expected > 0),
            {"n_others": n_others, "expected_others": n_others.astype(np.float64)},
        ),
    ):
        if chosen.any():
            found = standardised_ratio(
                observed[chosen],
                expected[chosen],
                **{name: values[chosen] for name, values in beside.items()},
            )
            ratio[chosen], low[chosen], high[chosen] = found[:3]
            p_value[chosen] = found.p_value
    level, is_expected = np.full(len(years), np.nan), expected > 0
    level[is_expected] = shrunken_ratio(
        observed[is_expected], expected[is_expected]
    ).ratio
    adjusted = np.full(len(years), np.nan)
    is_known = np.isfinite(p_value)
    if is_known.any():
        tested = benjamini_hochberg(p_value[is_known], rate=DISCOVERIES)
        adjusted[is_known] = tested.adjusted
    return {
        "n_compared": observed,
        "expected": np.where(expected > 0, expected, np.nan),
        "ratio": ratio,
        "ratio_low": low,
        "ratio_high": high,
        "level": level,
        "compared_with": np.where(is_large, "others", "fleet"),
        "p_value": p_value,
        "adjusted_p": adjusted,
        "is_unusual": adjusted <= DISCOVERIES,
    }


def _rate(n_failures: Counts, years: Floats) -> Floats:
    empty = np.zeros(years.shape)
    return np.divide(n_failures, years, out=empty, where=years > 0)
