"""The invented fleet, from its seed to its files."""

import dataclasses
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from synthetic_data import (
    cases,
    exposures,
    files,
    lives,
    status,
    wrong_exposures,
    wrong_rows,
)
from synthetic_data.bench import Protocol
from synthetic_data.cases import Row
from synthetic_data.dc_trip import DcTrip
from synthetic_data.files import Progress
from synthetic_data.lives import Events
from synthetic_data.register import (
    Register,
    draw_register,
    lot_frailties,
    serials,
    unit_rows,
)
from synthetic_data.scenario import Integers, day_of, mode_laws
from synthetic_data.truth import truth_document
from synthetic_data.wrong_rows import UNKNOWN_COLUMN

# Some units fail or retire before they are registered: draw a few more.
HEADROOM = 1.05
HEADROOM_UNITS = 20
FEWEST_UNITS = 1
COLOURS = ("white", "grey", "black")
WRITERS = {
    "units.csv": (files.write_csv, files.UNIT_COLUMNS),
    "repairs.xlsx": (files.write_xlsx, files.REPAIR_COLUMNS),
    "readings.csv": (files.write_csv, files.READING_COLUMNS),
    "shipments.csv": (files.write_csv, files.SHIPMENT_COLUMNS),
    "planned_sales.csv": (files.write_csv, files.PLANNED_COLUMNS),
    "usage.csv": (files.write_csv, files.USAGE_COLUMNS),
    "status.jsonl": (files.write_json_lines, files.STATUS_COLUMNS),
}


@dataclass(frozen=True, slots=True)
class FleetFiles:
    """Where the files of a fleet are."""

    units: Path
    repairs: Path
    readings: Path
    shipments: Path
    planned_sales: Path
    usage: Path
    status: Path
    truth: Path

    def records(self) -> list[Path]:
        """Return the files that a user would bring, units first."""
        return [
            getattr(self, field.name)
            for field in dataclasses.fields(self)
            if field.name != "truth"
        ]


@dataclass(frozen=True, slots=True)
class Fleet:
    """A fleet before it is written: arrays, and what became of them."""

    register: Register
    events: Events
    retired: Integers
    n_never_registered: int
    frailties: dict[int, float]


def draw_fleet(n_units: int, seed: int) -> Fleet:
    """Draw the units of a fleet and all that happens to them.

    Parameters
    ----------
    n_units : int
        Visible units, at least 1.
    seed : int
        The same seed gives the same fleet.

    Raises
    ------
    ValueError
        Fewer units than 1.
    """
    if n_units < FEWEST_UNITS:
        raise ValueError(f"n_units must be at least {FEWEST_UNITS}, got {n_units}")
    of_lots, of_units, of_lives, of_later = _generators(seed, 4)
    frailties = lot_frailties(of_lots)
    candidates = draw_register(
        int(n_units * HEADROOM) + HEADROOM_UNITS, frailties, of_units
    )
    day, mode = lives.first_failures(candidates, candidates.in_service, of_lives)
    first_seen = np.minimum(day, candidates.retired)
    # Failed or gone before anybody registered it: such a unit is in no file.
    visible = np.flatnonzero(first_seen >= candidates.registered)[:n_units]
    n_never = int(visible[-1]) + 1 - len(visible)
    made = candidates.made[visible]
    rows = visible[np.argsort(made, kind="stable")]
    register = candidates.take(rows)
    events, retired = lives.history(register, day[rows], mode[rows], of_later)
    return Fleet(register, events, retired, n_never, frailties)


def _generators(seed: int, count: int, *, key: int = 0) -> list[np.random.Generator]:
    """Return independent streams, so that a change in one part leaves the others."""
    sequences = np.random.SeedSequence([seed, key]).spawn(count)
    return [np.random.Generator(np.random.PCG64(sequence)) for sequence in sequences]


def write_fleet(
    folder: Path,
    *,
    n_units: int = 5000,
    seed: int = 1,
    progress: Progress | None = None,
) -> FleetFiles:
    """Write an invented fleet as the files a user would bring.

    Parameters
    ----------
    folder : Path
        Made if it is not there; files of the same names are replaced.
    n_units : int, default 5000
        Good rows of the units file.
    seed : int, default 1
        The same arguments give the same files.
    progress : callable, optional
        Called as progress(label, rows done, rows in all).

    Returns
    -------
    FleetFiles
        One for each kind of record, and truth.json with what was planted.

    Raises
    ------
    ValueError
        Fewer units than 1.
    """
    fleet = draw_fleet(n_units, seed)
    good = _good_rows(fleet, seed)
    first = good["units.csv"][0]
    wrong = {
        "units.csv": wrong_rows.wrong_units(first, n_units),
        "repairs.xlsx": wrong_rows.wrong_repairs(first["serial"]),
        "readings.csv": wrong_rows.wrong_readings(),
        "shipments.csv": wrong_exposures.wrong_shipments(),
        "planned_sales.csv": wrong_exposures.wrong_planned(),
        "usage.csv": wrong_exposures.wrong_usage(first["serial"]),
        "status.jsonl": wrong_exposures.wrong_status(first["serial"]),
    }
    mixed = {name: _mixed(rows, wrong[name].rows) for name, rows in good.items()}
    folder.mkdir(parents=True, exist_ok=True)
    for name, (write, columns) in WRITERS.items():
        write(folder / name, columns, mixed[name], progress)
    document = truth_document(
        n_units=n_units,
        seed=seed,
        register=fleet.register,
        events=fleet.events,
        n_never_registered=fleet.n_never_registered,
        frailties=fleet.frailties,
        rows={
            name: (len(rows) - wrong[name].n_wrong, wrong[name])
            for name, rows in mixed.items()
        },
    )
    files.write_json(folder / "truth.json", document)
    return FleetFiles(*(folder / name for name in (*WRITERS, "truth.json")))


def _good_rows(fleet: Fleet, seed: int) -> dict[str, list[Row]]:
    """Return the rows of the files, by file name, without planted faults."""
    of_cells, of_cases, of_bench = _generators(seed, 3, key=1)
    of_dc, of_plans, of_use, of_status = _generators(seed, 4, key=2)
    named = serials(fleet.register)
    units = unit_rows(fleet.register, fleet.retired, of_cells)
    for row in units:
        row[UNKNOWN_COLUMN] = COLOURS[int(of_cells.random() * len(COLOURS))]
    sent = cases.replacements(fleet.events, fleet.register, named)
    firmware = [row["firmware_version"] for row in units]
    repairs = cases.repair_rows(fleet.events, named, sent, firmware, of_cases)
    shipments = exposures.shipment_rows(units)
    return {
        "units.csv": units,
        "repairs.xlsx": repairs,
        "readings.csv": _readings(fleet.events, repairs, units, of_bench, of_dc),
        "shipments.csv": shipments,
        "planned_sales.csv": exposures.planned_rows(shipments, of_plans),
        "usage.csv": exposures.usage_rows(
            fleet.register, fleet.events, fleet.retired.tolist(), units, of_use
        ),
        "status.jsonl": status.status_rows(
            fleet.register, fleet.events, units, of_status
        ),
    }


def _readings(
    events: Events,
    repairs: list[Row],
    units: list[Row],
    of_bench: np.random.Generator,
    of_dc: np.random.Generator,
) -> list[Row]:
    protocol, dc_trip = Protocol(of_bench), DcTrip(of_dc)
    laws = mode_laws()
    found: list[Row] = []
    for index, case in enumerate(repairs):
        days: Row = {
            name: day_of(getattr(events, name)[index])
            for name in ("received", "confirmed", "closed")
        }
        mode = laws[events.mode[index]].mode
        unit = units[events.unit[index]]
        of_case = protocol.readings(case, unit, mode, days)
        found += [*of_case, *dc_trip.readings(of_case, unit, mode)]
    return found


def _mixed(good: list[Row], planted: list[Row]) -> list[Row]:
    """Return the planted rows among the good ones, after the first of them."""
    middle = (len(good) + 1) // 2
    return [*good[:middle], *planted, *good[middle:]]
