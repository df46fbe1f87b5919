"""The invented fleet follows the laws its own truth file states.

Laws are recomputed here with scipy.stats from truth.json; counts are held against
exact binomial or Poisson bounds. Seeds are fixed: a test passes or fails for good.

The count of a mode while units are at risk, less the sum of its cumulative hazards
over those units, has mean 0 (counting-process theory: Aalen, Borgan and Gjessing,
"Survival and Event History Analysis", 2008, chapter 1, from memory); so the count is
held against Poisson bounds around that sum, delayed entry and retirement included.
"""

import csv
import datetime as dt
import itertools
import json
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from scipy import stats

from synthetic_data.fleet import write_fleet
from synthetic_data.truth import planted_laws

YEAR = 365.25
LAW_NAMES = [name for name, law in planted_laws().items() if law["is_failure"]]
AGE_BOUNDS = (0.0, YEAR, 2 * YEAR, np.inf)
UNLIKELY = 1e-5  # per bound; some 130 bounds are looked at


def frozen(law: dict[str, Any]) -> Any:
    if law["law"] == "weibull":
        return stats.weibull_min(law["shape"], scale=law["scale_days"])
    return stats.lognorm(law["sigma"], scale=law["median_days"])


@dataclass
class Seen:
    """What the files say about the units with a recorded in-service day."""

    truth: dict[str, Any]
    entry: np.ndarray
    exit: np.ndarray
    mode: np.ndarray  # of the first failure while at risk, else ""
    columns: dict[str, np.ndarray]
    delays: np.ndarray
    cases: list[dict[str, Any]]

    def at_risk(self, low: float, high: float) -> tuple[np.ndarray, np.ndarray]:
        start = np.clip(self.entry, low, high)
        return start, np.maximum(np.clip(self.exit, low, high), start)

    def can_have(self, name: str) -> np.ndarray:
        only = self.truth["laws"][name].get("only")
        column = "supply_connection" if only == "plug" else "connector"
        return (
            np.ones(len(self.exit), bool)
            if only is None
            else (self.columns[column] == only)
        )

    def bad(self) -> np.ndarray:
        cause = self.truth["planted_cause"]
        return (self.columns["cable_supplier"] == cause["cable_supplier"]) & self.late()

    def late(self) -> np.ndarray:
        month = self.truth["planted_cause"]["made_from_month"]
        return self.columns["manufactured_on"].astype("<U7") >= month

    def hazard_ratio(self, name: str) -> np.ndarray:
        factors = self.truth["lot_frailty"]["factors"]
        lots = np.array([factors[lot] for lot in self.columns["production_lot"]])
        cause = self.truth["planted_cause"]
        if name == cause["mode"]:
            lots = np.where(self.bad(), cause["hazard_ratio"] * lots, lots)
        return lots * self.can_have(name)

    def expected(self, name: str, low: float, high: float) -> float:
        law = frozen(self.truth["laws"][name])
        start, end = self.at_risk(low, high)
        hazard = law.logsf(start) - law.logsf(end)
        return float((hazard * self.hazard_ratio(name)).sum())

    def counted(self, name: str, low: float, high: float) -> int:
        inside = (self.exit >= low) & (self.exit < high)
        return int(((self.mode == name) & inside).sum())


def read_units(file: Path) -> list[dict[str, str]]:
    with file.open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    kept: dict[str, dict[str, str]] = {}
    for row in rows:
        if row["serial"] and not row["serial"].startswith("X0000"):
            kept.setdefault(row["serial"], row)
    return list(kept.values())


def read_cases(file: Path) -> list[dict[str, Any]]:
    with closing(openpyxl.load_workbook(file, read_only=True)) as book:
        header, *rows = list(book["repairs"].iter_rows(values_only=True))
    cases = [dict(zip(header, row, strict=True)) for row in rows]
    return [case for case in cases if str(case["case_id"]) < "W-8"]


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> Seen:
    written = write_fleet(tmp_path_factory.mktemp("laws"), n_units=20_000, seed=11)
    truth = json.loads(written.truth.read_text("utf-8"))
    units = [row for row in read_units(written.units) if row["in_service_on"]]
    cases = read_cases(written.repairs)
    # A failure before this day was confirmed by the last day: no delay is longer.
    end = dt.date.fromisoformat(truth["last_day"]) - dt.timedelta(
        days=truth["delay_to_confirmation"]["longest_days"]
    )
    first: dict[str, tuple[dt.date, str]] = {}
    for case in cases:
        law = truth["laws"].get(case["confirmed_mode"], {"is_failure": False})
        failed = (case["failed_on"] or case["received_on"]).date()
        if law["is_failure"] and failed < first.get(case["serial"], (end, ""))[0]:
            first[case["serial"]] = (failed, case["confirmed_mode"])
    entry, left, modes = [], [], []
    for unit in units:
        began = dt.date.fromisoformat(unit["in_service_on"])
        registered = dt.date.fromisoformat(unit["registered_on"] or "2000-01-01")
        retired = dt.date.fromisoformat(unit["retired_on"] or "2100-01-01")
        failed, mode = first.get(unit["serial"], (dt.date(2100, 1, 1), ""))
        out = min(failed, retired, end)
        entry.append(max((registered - began).days, 0))
        left.append(max((out - began).days, 0))
        modes.append(mode if failed <= min(retired, end) else "")
    delays = [
        (case["confirmed_on"] - case["failed_on"]).days
        for case in cases
        if case["failed_on"] and case["confirmed_on"] and case["failed_on"].date() < end
    ]
    columns = {
        name: np.array([unit[name] for unit in units])
        for name in (
            *("cable_supplier", "manufactured_on", "production_lot"),
            *("connector", "supply_connection"),
        )
    }
    return Seen(
        truth,
        np.array(entry, float),
        np.array(left, float),
        np.array(modes),
        columns,
        np.array(delays),
        cases,
    )


@pytest.mark.parametrize("name", LAW_NAMES)
def test_counts_of_a_mode_by_age_lie_within_poisson_bounds(
    name: str, seen: Seen
) -> None:
    for low, high in itertools.pairwise(AGE_BOUNDS):
        expected = seen.expected(name, low, high)
        fewest, most = stats.poisson(expected).ppf([UNLIKELY / 2, 1 - UNLIKELY / 2])
        assert fewest <= seen.counted(name, low, high) <= most, (low, expected)


def test_all_failures_together_agree_with_the_laws_within_a_few_per_cent(
    seen: Seen,
) -> None:
    expected = sum(seen.expected(name, 0, np.inf) for name in LAW_NAMES)
    found = sum(seen.counted(name, 0, np.inf) for name in LAW_NAMES)

    low, high = stats.poisson(expected).ppf([0.0005, 0.9995])

    assert expected > 1000
    assert low <= found <= high


def test_about_four_per_cent_of_the_units_fail_in_a_year(seen: Seen) -> None:
    unit_years = np.clip(seen.exit - seen.entry, 0, None).sum() / YEAR
    n_failed = int((seen.mode != "").sum())

    low = stats.chi2.ppf(0.005, 2 * n_failed) / 2 / unit_years
    high = stats.chi2.ppf(0.995, 2 * n_failed + 2) / 2 / unit_years

    assert low < 0.042
    assert high > 0.038
    assert 0.035 < n_failed / unit_years < 0.045


def test_the_planted_hazard_ratio_is_found_from_person_time(seen: Seen) -> None:
    # Given the total, the exposed count is binomial with odds ratio * time ratio
    # (Rothman, Greenland and Lash, "Modern Epidemiology", chapter 14, from memory).
    cause = seen.truth["planted_cause"]
    years = np.clip(seen.exit - seen.entry, 0, None) / YEAR
    is_mode = seen.mode == cause["mode"]
    exposed, others = seen.bad(), seen.late() & ~seen.bad()
    n_exposed, n_others = int(is_mode[exposed].sum()), int(is_mode[others].sum())

    share = stats.binomtest(n_exposed, n_exposed + n_others).proportion_ci(0.99)
    odds = years[others].sum() / years[exposed].sum()
    low = share.low / (1 - share.low) * odds
    high = share.high / (1 - share.high) * odds

    assert n_exposed > 50
    assert low <= cause["hazard_ratio"] <= high
    assert low > 1.5


def test_a_quarter_of_the_units_has_the_supplier(seen: Seen) -> None:
    cause = seen.truth["planted_cause"]
    n_named = int((seen.columns["cable_supplier"] == cause["cable_supplier"]).sum())

    bounds = stats.binom(len(seen.exit), cause["share_of_units"]).ppf([0.0005, 0.9995])

    assert bounds[0] <= n_named <= bounds[1]


def test_delays_to_confirmation_follow_the_stated_law(seen: Seen) -> None:
    law = seen.truth["delay_to_confirmation"]
    longest = law["longest_days"]
    beta = stats.beta(law["a"], law["b"], scale=longest)

    standard_error = beta.std() / np.sqrt(len(seen.delays))

    assert len(seen.delays) > 1000
    assert seen.delays.min() >= 0
    assert seen.delays.max() <= longest
    assert abs(seen.delays.mean() - beta.mean()) < 3.5 * standard_error
    assert abs((seen.delays <= 24).mean() - beta.cdf(24.5)) < 0.05


def test_the_newest_cases_are_open_and_old_ones_are_not(seen: Seen) -> None:
    last = dt.datetime.fromisoformat(seen.truth["last_day"])
    is_open = [
        ((last - case["received_on"]).days, case["confirmed_mode"] is None)
        for case in seen.cases
    ]

    assert sum(waiting for _, waiting in is_open) > 20
    assert all(age <= 60 for age, waiting in is_open if waiting)


def test_no_failure_lies_before_its_unit_was_registered(seen: Seen) -> None:
    late = seen.entry > 0

    assert late.sum() > 1000
    assert seen.truth["registered_late"]["n_never_registered"] > 0
    assert (seen.exit >= seen.entry)[seen.mode != ""].all()
