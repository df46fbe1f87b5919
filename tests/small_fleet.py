"""A few rows as files, taken in and published: for rules counted by hand."""

import csv
import datetime as dt
from collections.abc import Sequence
from pathlib import Path

from analytics.rollup.publish import publish
from analytics.rollup.rules import LifeRules
from analytics.rollup.snapshot import Snapshot, current_snapshot
from ingest.pipeline import ingest_paths

AS_OF = dt.date(2026, 1, 1)


def write_rows(file: Path, rows: list[dict[str, object]]) -> Path:
    columns = list(dict.fromkeys(name for row in rows for name in row))
    file.parent.mkdir(parents=True, exist_ok=True)
    with file.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, columns, restval="")
        writer.writeheader()
        writer.writerows(rows)
    return file


def unit(serial: str, **fields: object) -> dict[str, object]:
    return {
        "serial": serial,
        "model": "Model A",
        "in_service_on": "2025-01-01",
    } | fields


def case(case_id: str, serial: str, **fields: object) -> dict[str, object]:
    return {"case_id": case_id, "serial": serial, "received_on": "2025-06-01"} | fields


def reading(case_id: str, check: str, **fields: object) -> dict[str, object]:
    return {
        "case_id": case_id,
        "check": check,
        "stage": "diagnosis",
        "taken_at": "2025-06-02",
    } | fields


def published(
    folder: Path,
    units: list[dict[str, object]],
    cases: list[dict[str, object]],
    *,
    readings: Sequence[dict[str, object]] = (),
    as_of: dt.date = AS_OF,
    rules: LifeRules | None = None,
) -> Snapshot:
    files = [write_rows(folder / "units.csv", units)]
    if cases:
        files.append(write_rows(folder / "repairs.csv", cases))
    if readings:
        files.append(write_rows(folder / "readings.csv", list(readings)))
    report = ingest_paths(folder / "store.duckdb", files)
    assert report.exit_code == 0, report
    publish(folder / "store.duckdb", folder / "published", as_of=as_of, rules=rules)
    return current_snapshot(folder / "published")


def failing_after(
    folder: Path, days: Sequence[int], *, n_working: int = 20
) -> Snapshot:
    """Publish units of Model A that fail so many days after 2025-01-01.

    Beside them are units of model B that work on.
    """
    start = dt.date(2025, 1, 1)
    units = [unit(f"A{n:03}") for n in range(len(days))]
    units += [unit(f"B{n:03}", model="B") for n in range(n_working)]
    cases = [
        case(
            f"R{n}",
            f"A{n:03}",
            received_on=str(start + dt.timedelta(days=day)),
            failed_on=str(start + dt.timedelta(days=day)),
            confirmed_mode="handle_pilot_open",
        )
        for n, day in enumerate(days)
    ]
    return published(folder, units, cases)


def lives(snapshot: Snapshot) -> dict[str, dict[str, object]]:
    """Return the lives by serial, as plain values."""
    found = snapshot.ask("lives_by_serial")
    return {
        str(row["serial"]): {
            name: None if value != value or value is None else value  # noqa: PLR0124 - NaN is the only value unlike itself
            for name, value in row.items()
        }
        for row in found.to_dict("records")
    }


def left_out(snapshot: Snapshot) -> dict[str, str]:
    """Return the reason of each unit left out, by serial."""
    found = snapshot.ask("left_out_serials")
    return dict(zip(found["serial"], found["reason"], strict=True))
