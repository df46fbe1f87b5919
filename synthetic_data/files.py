"""Writing the scenario as the files a user would bring, the same bytes each time."""

import csv
import datetime as dt
import json
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

import xlsxwriter

from synthetic_data.cases import Row
from synthetic_data.wrong_rows import BEYOND, UNKNOWN_COLUMN

Progress = Callable[[str, int, int | None], None]

EVERY_ROWS = 1000  # progress is told this often
# A fixed date: the same arguments give the same workbook.
CREATED = dt.datetime(2026, 7, 1)  # noqa: DTZ001 - workbooks hold no time zone

UNIT_COLUMNS = (
    *("serial", "model", "hardware_revision", "firmware_version", "production_lot"),
    *("cable_supplier", "manufactured_on", "shipped_on", "in_service_on"),
    *("registered_on", "retired_on", "site", "region", "environment", "duty"),
    *("connector", "phases", "supply_connection", "cable_length_m"),
    *("conductor_area_mm2", "earth_area_mm2", "rated_current_a", "supply_system"),
    *("ground_fault_device", "warranty_months", "warranty_extended_to", "sale_type"),
    UNKNOWN_COLUMN,
)
REPAIR_COLUMNS = (
    *("case_id", "serial", "received_on", "failed_on", "last_known_good_on"),
    *("symptoms", "symptoms_denied", "symptom_text", "charger_error_codes"),
    *("opened_before_arrival", "intake_findings", "firmware_version"),
    *("confirmed_mode", "mechanism", "cause_category", "confirmed_on", "closed_on"),
    *("disposition", "replaced_by_serial", "labour_minutes", "parts_used"),
    *("parts_cost", "freight_cost", "currency", "technician"),
)
SHIPMENT_COLUMNS = ("model", "production_lot", "shipped_month", "region", "quantity")
PLANNED_COLUMNS = ("model", "month", "region", "quantity")
USAGE_COLUMNS = ("serial", "month", "sessions", "energy_kwh", "connected_hours")
STATUS_COLUMNS = ("serial", "received_at", "message")
# In place of an object: a line of a JSON Lines file as it stands.
RAW_LINE = "line"
READING_COLUMNS = (
    *("case_id", "check", "taken_at", "stage", "point", "condition", "sequence"),
    *("value", "unit", "outcome", "instrument", "ambient_c", "minutes"),
)


def counted(
    rows: Sequence[Row], label: str, progress: Progress | None
) -> Iterable[Row]:
    """Hand on rows and tell the progress about every thousandth."""
    for number, row in enumerate(rows, start=1):
        yield row
        if progress is not None and number % EVERY_ROWS == 0:
            progress(label, number, len(rows))
    if progress is not None:
        progress(label, len(rows), len(rows))


def write_csv(
    file: Path, columns: Sequence[str], rows: Sequence[Row], progress: Progress | None
) -> None:
    """Write rows as comma-separated UTF-8; an empty cell is `not recorded`."""
    with file.open("w", encoding="utf-8", errors="surrogateescape", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(columns)
        for row in counted(rows, file.name, progress):
            cells = [row.get(column) for column in columns]
            if BEYOND in row:
                cells.append(row[BEYOND])
            writer.writerow(cells)


def write_xlsx(
    file: Path, columns: Sequence[str], rows: Sequence[Row], progress: Progress | None
) -> None:
    """Write rows as a workbook with true dates and numbers."""
    with xlsxwriter.Workbook(str(file), {"constant_memory": True}) as book:
        book.set_properties({"title": "Repairs (invented)", "created": CREATED})
        day_format = book.add_format({"num_format": "yyyy-mm-dd"})
        sheet = book.add_worksheet("repairs")
        sheet.freeze_panes(1, 0)
        sheet.write_row(0, 0, columns)
        for number, row in enumerate(counted(rows, file.name, progress), start=1):
            for place, column in enumerate(columns):
                _write_cell(sheet, number, place, row.get(column), day_format)


def _write_cell(
    sheet: Any, number: int, place: int, value: Any, day_format: Any
) -> None:
    if value is None:
        return
    if isinstance(value, dt.date):
        sheet.write_datetime(number, place, value, day_format)
    elif isinstance(value, bool):
        sheet.write_boolean(number, place, value)
    elif isinstance(value, str):
        sheet.write_string(number, place, value)
    else:
        sheet.write_number(number, place, value)


def write_json_lines(
    file: Path, columns: Sequence[str], rows: Sequence[Row], progress: Progress | None
) -> None:
    """Write rows as JSON objects, one a line; an empty cell is null."""
    with file.open("w", encoding="utf-8", newline="\n") as out:
        for row in counted(rows, file.name, progress):
            told = {column: row.get(column) for column in columns}
            text = row.get(RAW_LINE) or json.dumps(told, separators=(",", ":"))
            out.write(f"{text}\n")


def write_json(file: Path, document: dict[str, Any]) -> None:
    """Write a document for people and programs, keys in the order given."""
    file.write_text(
        json.dumps(document, indent=1, ensure_ascii=False) + "\n", encoding="utf-8"
    )
