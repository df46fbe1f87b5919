"""The watch for recurring failures, run once when figures are published.

Alarms of months watched before stand as the store recorded them; only months since are
judged anew. So the promise of how many false alarms a year there are is about what
people were told, not about what a later look back would say.
"""

import datetime as dt
import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import duckdb
import numpy as np

from analytics.rollup.watch_cache import calibrated
from analytics.rollup.watch_early import early_life
from analytics.rollup.watch_explained import Row
from analytics.rollup.watch_input import WatchInput, month_day, watch_input
from analytics.rollup.watch_partitions import Partition, partitions
from analytics.rollup.watch_raised import raised_alarms
from analytics.rollup.watch_tables import Tables, keep_tables
from analytics.rollup.work_space import give_way
from analytics.statistics.watch_families import (
    FamiliesCalibration,
    FamilyCounts,
)
from ingest.alarms import AlarmKey, Recorded

FEWEST_FAILURES = 50  # below, no false-alarm rate can be stated (own judgement)
MONTHS_BEFORE = 12  # a month is compared with the twelve before it
THIN_BELOW = 20.0  # expected a year; a doubling would probably go unnoticed


@dataclass(frozen=True, slots=True)
class WatchRules:
    """What is asked of the watch.

    Attributes
    ----------
    as_of : datetime.date
    folder : Path
        Of the published figures, where thresholds are kept.
    per_year : float
        False alarms a year that are accepted, over the whole fleet.
    assumed_delay_days : int
        From failure to confirmation, where too few are on record.
    recorded : Recorded
        What earlier publishes raised.
    """

    as_of: dt.date
    folder: Path
    per_year: float
    assumed_delay_days: int = 0
    recorded: Recorded = field(default_factory=Recorded)


@dataclass(frozen=True, slots=True)
class WatchOutcome:
    """What the watch leaves to be recorded.

    Attributes
    ----------
    alarms : tuple of AlarmKey
        All that stand in these figures.
    through : datetime.date or None
        First day of the last month watched; None: it cannot be watched yet.
    first_live : datetime.date or None
        First day of the first month in which an alarm could be raised.
    is_past : bool
        The figures are for a day before months that were watched already.
    thresholds : str
        A digest of the thresholds used.
    """

    alarms: tuple[AlarmKey, ...] = ()
    through: dt.date | None = None
    first_live: dt.date | None = None
    is_past: bool = False
    thresholds: str = ""


def run_watch(
    connection: duckdb.DuckDBPyConnection,
    parameters: Mapping[str, object],
    rules: WatchRules,
) -> WatchOutcome:
    """Watch the fleet and keep what was found as the tables `watch_…`.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Holds unit_lives, cases and confirmation_delay.
    parameters : mapping
        not_failures and seen_in_warranty are used.
    rules : WatchRules

    Returns
    -------
    WatchOutcome
    """
    found = watch_input(
        connection,
        parameters,
        as_of=rules.as_of,
        assumed_delay_days=rules.assumed_delay_days,
    )
    give_way(connection)  # to the simulation
    why_not = _why_not(found)
    if found is None or why_not:
        about = {**(_about(found, rules) if found else {}), **why_not}
        early = early_life(found) if found else []
        keep_tables(connection, Tables(about=[about], early=early))
        return WatchOutcome()
    parts, without = partitions(found)
    first_live = _first_live(found, rules.recorded)
    calibration = calibrated(
        found,
        parts,
        per_year=rules.per_year,
        first_live=first_live,
        folder=rules.folder,
    )
    raised = raised_alarms(
        found, parts, calibration, rules.recorded, first_live=first_live
    )
    families, thin = _families(parts, without, calibration)
    about = _about(found, rules) | {
        "first_live": found.month(first_live),
        "n_groups": sum(one.expected.shape[1] for one in calibration.counts.values()),
        "n_draws": min(one.n_draws for one in calibration.calibrations.values()),
        "is_joint": calibration.is_joint,
    }
    keep_tables(
        connection,
        Tables(
            about=[about],
            families=families,
            thin=thin,
            early=early_life(found),
            alarms=raised.alarms,
            series=raised.series,
            cases=raised.cases,
            comparison=raised.comparison,
            lots=raised.lots,
        ),
    )
    through = found.month(found.fleet.n_looks - 1)
    before = rules.recorded.through
    return WatchOutcome(
        alarms=raised.keys,
        through=through,
        first_live=found.month(first_live),
        is_past=before is not None and through < before,
        thresholds=_digest(calibration),
    )


def _digest(calibration: FamiliesCalibration) -> str:
    found = hashlib.sha256()
    for name in sorted(calibration.thresholds):
        found.update(np.round(calibration.thresholds[name], 6).tobytes())
    return found.hexdigest()


def _why_not(found: WatchInput | None) -> Row:
    """Return why the fleet cannot be watched, with what is needed; empty if it can."""
    if found is None:
        return {"why_not": "no_units", "n_needed": 1, "n_found": 0}
    needed = {
        "few_months": (MONTHS_BEFORE + 1, found.fleet.n_looks - found.first_filled),
        "few_failures": (FEWEST_FAILURES, len(found.failures)),
    }
    for reason, (fewest, n_found) in needed.items():
        if n_found < fewest:
            return {"why_not": reason, "n_needed": fewest, "n_found": n_found}
    return {}


def _about(found: WatchInput, rules: WatchRules) -> Row:
    sites = found.failures["site"].value_counts()
    return {
        "first_month": month_day(found.first_month),
        "last_month": found.month(found.fleet.n_looks - 1),
        "n_months": found.fleet.n_looks,
        "n_failures": len(found.failures),
        "n_groups": 0,
        "per_year": rules.per_year,
        "completeness": float(found.completeness[-1]),
        "largest_site": str(sites.index[0]) if len(sites) else None,
        "n_of_largest_site": int(sites.iloc[0]) if len(sites) else None,
    }


def _first_live(found: WatchInput, recorded: Recorded) -> int:
    earliest = found.first_filled + MONTHS_BEFORE
    began = found.look(recorded.first_live) if recorded.first_live else earliest
    return min(max(began, earliest), found.fleet.n_looks - 1)


def _families(
    parts: Sequence[Partition],
    without: Sequence[str],
    calibration: FamiliesCalibration,
) -> tuple[list[Row], list[Row]]:
    """Return the families with how they vary, and their groups that are too thin."""
    families: list[Row] = [{"family": name, "n_groups": 0} for name in without]
    thin: list[Row] = []
    for part in parts:
        name = part.cut.name
        counts = calibration.counts[name]
        rows = list(_thin(part, counts))
        fit = calibration.fits[name]
        families.append(
            {
                "family": name,
                "n_groups": counts.observed.shape[1],
                "n_failures": int(counts.observed.sum()),
                "n_thin": len(rows),
                "share_not_recorded": part.share_not_recorded,
                "level_variance": float(fit.level_variance),
                "dispersion": float(fit.dispersion),
                "shock_variance": float(fit.shock_variance),
                "look_shock": float(fit.look_shock),
                "threshold": float(calibration.thresholds[name][-1]),
            }
        )
        thin += rows
    return families, thin


def _thin(part: Partition, counts: FamilyCounts) -> Iterator[Row]:
    expected_year = counts.expected[-MONTHS_BEFORE:].sum(axis=0)
    n_months = (counts.expected > 0).sum(axis=0)
    for stratum in np.flatnonzero(expected_year < THIN_BELOW):
        yield {
            "family": part.cut.name,
            "failure": part.failures[int(counts.stratum_failure[stratum])],
            "value": part.values[int(counts.stratum_value[stratum])],
            "n_failures": int(counts.observed[:, stratum].sum()),
            "expected_year": float(expected_year[stratum]),
            "n_months": int(n_months[stratum]),
        }
