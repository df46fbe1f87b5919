"""Rows that must be set aside, one fault each, and rows that draw a notice.

A few of each, however large the fleet: what is planted here is listed in the truth
file, so that what ingest reports can be compared with it exactly.
"""

import datetime as dt
from dataclasses import dataclass, field

from synthetic_data import scenario
from synthetic_data.cases import Row

UNKNOWN_COLUMN = "paint_colour"
UNKNOWN_SERIAL = "X0000-000000"
UNKNOWN_SERIAL_CASE = "W-900001"
UNKNOWN_CASE = "W-900002"
# The cell beyond the last column, in a row with one too many.
BEYOND = "extra_cell_1"
# Written as the single byte FF, which is valid in no UTF-8 text.
BAD_BYTE = "\udcff"
TEXT_LIMIT = 60
SHORT_TEXT_LIMIT = 40


@dataclass
class Planted:
    """Extra rows of one file, and what is to be said of them.

    `wrong` and `notices` count rows by field and code.
    """

    rows: list[Row] = field(default_factory=list)
    wrong: dict[str, dict[str, int]] = field(default_factory=dict)
    notices: dict[str, dict[str, int]] = field(default_factory=dict)

    def plant(self, row: Row, where: str, code: str) -> None:
        """Add a row that is to be rejected for one field with one code."""
        self.rows.append(row)
        _count(self.wrong, where, code, 1)

    def keep(self, row: Row) -> None:
        """Add a row that is to be accepted."""
        self.rows.append(row)

    def notice(self, where: str, code: str, n_rows: int = 1) -> None:
        """Expect a notice on rows that are accepted."""
        _count(self.notices, where, code, n_rows)

    @property
    def n_wrong(self) -> int:
        """How many rows are to be rejected."""
        return sum(sum(codes.values()) for codes in self.wrong.values())


def _count(counts: dict[str, dict[str, int]], where: str, code: str, n: int) -> None:
    codes = counts.setdefault(where, {})
    codes[code] = codes.get(code, 0) + n


def wrong_units(pattern: Row, n_good: int) -> Planted:
    """Return wrong rows of the units file, made from a good one.

    Parameters
    ----------
    pattern : dict
        A good row; its serial is used once more for the repeated key.
    n_good : int
        Good rows in the file: each has a cell in the column nobody knows.
    """
    planted = Planted()
    made = scenario.FIRST_PRODUCTION_DAY
    base = pattern | {
        "manufactured_on": made,
        "shipped_on": made + dt.timedelta(days=9),
        "in_service_on": made + dt.timedelta(days=30),
        "registered_on": None,
        "retired_on": None,
        "warranty_extended_to": None,
        UNKNOWN_COLUMN: None,
    }

    def row(number: int, **cells: object) -> Row:
        return base | {"serial": f"X0000-{number:06d}"} | cells

    planted.plant(row(1, model=None), "model", "missing")
    planted.plant(row(2, serial=None), "serial", "missing")
    long_site = "Harbour " + "quay " * 12
    planted.plant(row(3, site=long_site + "west"), "site", "too_long")
    planted.plant(row(4, serial="X0000#000004"), "serial", "bad_pattern")
    planted.plant(row(5, cable_length_m="five"), "cable_length_m", "not_a_number")
    planted.plant(row(6, rated_current_a=320), "rated_current_a", "out_of_range")
    planted.plant(row(7, in_service_on="2025-02-30"), "in_service_on", "not_a_date")
    planted.plant(row(8, environment="garage"), "environment", "unknown_code")
    early = made - dt.timedelta(days=400)
    planted.plant(row(9, shipped_on=early), "shipped_on", "date_order")
    twice = pattern | {"site": "Harbour 999", UNKNOWN_COLUMN: None}
    planted.plant(twice, "serial", "duplicate_key_in_file")
    planted.plant(row(10, **{BEYOND: "spare cell"}), BEYOND, "malformed_row")
    planted.notice(UNKNOWN_COLUMN, "unknown_column", n_good)
    return planted


def wrong_repairs(serial: str) -> Planted:
    """Return wrong rows of the repairs file, all about one known unit."""
    planted = Planted()
    received = scenario.LAST_DAY - dt.timedelta(days=40)
    base: Row = {
        "serial": serial,
        "received_on": received,
        "symptoms": "offline",
        "technician": scenario.TECHNICIANS[0],
    }

    def row(number: int, **cells: object) -> Row:
        return {"case_id": f"W-8{number:05d}"} | base | cells

    stranger = row(0, case_id=UNKNOWN_SERIAL_CASE, serial=UNKNOWN_SERIAL)
    planted.keep(stranger)
    planted.notice("serial", "unknown_serial")
    planted.plant(
        stranger | {"symptoms": "humming"}, "case_id", "duplicate_key_in_file"
    )
    planted.plant(row(1, received_on=None), "received_on", "missing")
    planted.plant(row(2, technician=True), "technician", "not_text")
    long_name = "T" + "0" * SHORT_TEXT_LIMIT
    planted.plant(row(3, technician=long_name), "technician", "too_long")
    costs = {"freight_cost": 12.5, "currency": "Euro"}
    planted.plant(row(4, **costs), "currency", "bad_pattern")
    planted.plant(row(5, labour_minutes="an hour"), "labour_minutes", "not_a_number")
    planted.plant(row(6, labour_minutes=20_000), "labour_minutes", "out_of_range")
    planted.plant(row(7, received_on="last week"), "received_on", "not_a_date")
    planted.plant(row(8, symptoms="rattles"), "symptoms", "unknown_code")
    planted.plant(row(9, confirmed_mode="broken"), "confirmed_mode", "unknown_code")
    before = received - dt.timedelta(days=3)
    dates = {"confirmed_mode": "no_fault_found", "confirmed_on": before}
    planted.plant(row(10, **dates), "confirmed_on", "date_order")
    planted.plant(row(11, parts_cost=80.25), "currency", "currency_missing")
    return planted


def wrong_readings() -> Planted:
    """Return wrong rows of the readings file.

    All are about the case whose unit nobody knows, and none is of a gate check: a
    rejected reading shuts a gate.
    """
    planted = Planted()
    day = scenario.LAST_DAY - dt.timedelta(days=30)
    base: Row = {
        "case_id": UNKNOWN_SERIAL_CASE,
        "check": "fuse_continuity",
        "stage": "diagnosis",
        "point": "F1",
        "unit": "ohm",
    }

    def row(minute: int, **cells: object) -> Row:
        cells = {"taken_at": f"{day}T09:{minute:02d}", "value": "0.15"} | cells
        return base | cells

    stranger = row(0, case_id=UNKNOWN_CASE)
    planted.keep(stranger)
    planted.notice("case_id", "unknown_case")
    planted.plant(stranger | {"value": "0.35"}, "case_id", "duplicate_key_in_file")
    planted.plant(row(1, check=None), "check", "missing")
    planted.plant(row(2, value=None, unit=None), "value", "missing")
    planted.plant(row(3, point="F" * 41), "point", "too_long")
    planted.plant(row(4, value="about one"), "value", "not_a_number")
    planted.plant(row(5, sequence="0"), "sequence", "out_of_range")
    planted.plant(row(6, taken_at="after lunch"), "taken_at", "not_a_date")
    planted.plant(row(7, check="shake_test"), "check", "unknown_code")
    planted.plant(row(8, stage="workshop"), "stage", "unknown_code")
    planted.plant(row(9, unit="psi"), "unit", "unknown_unit")
    planted.plant(row(10, instrument=f"meter {BAD_BYTE}"), "instrument", "bad_encoding")
    planted.plant(row(11, **{BEYOND: "spare cell"}), BEYOND, "malformed_row")
    return planted
