"""Thresholds of the watch, kept from one publish to the next while they still fit.

Simulating quiet fleets takes seconds. While the groups and the months are the same, the
failures have grown by less than 5 % and the newest months are about as full, the
thresholds of the last publish serve.
"""

import hashlib
import json
import math
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analytics.rollup.watch_input import WatchInput
from analytics.rollup.watch_partitions import Partition
from analytics.statistics.quiet_fleet import fit_quiet_fleet
from analytics.statistics.watch_families import (
    FamiliesCalibration,
    calibrate_families,
    expected_and_observed,
)
from analytics.statistics.watch_threshold import Calibration

Array = NDArray[Any]

GROWTH = 1.05
FILLED = 1.25  # of the newest months: their thresholds rest on what may fail in them
NEWEST = 3
SEED = 1  # the same records give the same alarms
PREFIX = "watch-"
KEY_DIGITS = 16


def calibrated(
    found: WatchInput,
    parts: Sequence[Partition],
    *,
    per_year: float,
    first_live: int,
    folder: Path,
) -> FamiliesCalibration:
    """Return thresholds for the families: those kept, or made anew and kept.

    Parameters
    ----------
    found : WatchInput
    parts : sequence of Partition
    per_year : float
    first_live : int
    folder : Path
        Of the published figures.

    Returns
    -------
    FamiliesCalibration
    """
    file = folder / f"{PREFIX}{_shape(found, parts, per_year, first_live)}.npz"
    kept = _read(file)
    if kept is not None:
        return with_counts(found, parts, per_year, kept)
    calibration = calibrate_families(
        found.fleet,
        [part.family for part in parts],
        per_year=per_year,
        rng=np.random.default_rng(SEED),
        first_live=first_live,
    )
    _keep(file, calibration)
    return calibration


def _shape(
    found: WatchInput, parts: Sequence[Partition], per_year: float, first_live: int
) -> str:
    fleet, n_failures = found.fleet, len(found.failures)
    days = np.bincount(fleet.look, fleet.exposure, fleet.n_looks)[-NEWEST:]
    shape = [
        *(found.first_month, found.fleet.n_looks, first_live, per_year),
        *((part.cut.name, part.failures, part.values) for part in parts),
        math.floor(math.log(max(n_failures, 1)) / math.log(GROWTH)),
        *(math.floor(math.log(max(n, 1)) / math.log(FILLED)) for n in days.tolist()),
    ]
    return hashlib.sha256(json.dumps(shape).encode()).hexdigest()[:KEY_DIGITS]


def _keep(file: Path, calibration: FamiliesCalibration) -> None:
    arrays: dict[str, Array] = {"is_joint": np.array(calibration.is_joint)}
    for name, one in calibration.calibrations.items():
        arrays[f"{name}/threshold"] = one.threshold
        arrays[f"{name}/block"] = np.array(one.block, dtype=np.int64).reshape(-1, 2)
        numbers = (one.n_draws, one.per_year, one.looks_per_year, one.share)
        arrays[f"{name}/numbers"] = np.array(numbers, dtype=np.float64)
        for place, shown in enumerate(one.exceeding):
            arrays[f"{name}/exceeding/{place}"] = shown
    for old in file.parent.glob(f"{PREFIX}*.npz"):
        old.unlink(missing_ok=True)
    # A name of its own until it is whole: another publish may read.
    unfinished = file.with_suffix(".tmp.npz")
    with zipfile.ZipFile(unfinished, "w", zipfile.ZIP_DEFLATED) as out:
        for name, array in arrays.items():
            with out.open(f"{name}.npy", "w", force_zip64=True) as member:
                np.lib.format.write_array(member, array, allow_pickle=False)
    unfinished.replace(file)


def _read(file: Path) -> dict[str, Array] | None:
    if not file.is_file():
        return None
    with np.load(file, allow_pickle=False) as arrays:
        return dict(arrays)


def with_counts(
    found: WatchInput,
    parts: Sequence[Partition],
    per_year: float,
    kept: dict[str, Array],
) -> FamiliesCalibration:
    """Return a calibration that was kept, with the counts and fits of today."""
    counts = {
        part.cut.name: expected_and_observed(found.fleet, part.family) for part in parts
    }
    calibrations = {name: _calibration(name, kept) for name in counts}
    return FamiliesCalibration(
        counts=counts,
        fits={
            name: fit_quiet_fleet(one.observed, one.expected)
            for name, one in counts.items()
        },
        thresholds={name: one.threshold for name, one in calibrations.items()},
        calibrations=calibrations,
        per_year=per_year,
        is_joint=bool(kept["is_joint"]),
        n_draws=min((one.n_draws for one in calibrations.values()), default=0),
    )


def _calibration(name: str, kept: dict[str, Array]) -> Calibration:
    n_draws, per_year, looks_per_year, share = kept[f"{name}/numbers"].tolist()
    block = tuple((int(first), int(last)) for first, last in kept[f"{name}/block"])
    return Calibration(
        threshold=kept[f"{name}/threshold"],
        n_draws=int(n_draws),
        block=block,
        exceeding=tuple(
            kept[f"{name}/exceeding/{place}"] for place in range(len(block))
        ),
        per_year=per_year,
        looks_per_year=looks_per_year,
        share=share,
    )
