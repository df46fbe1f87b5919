"""Wrong rows of shipments, planned sales, usage and status messages."""

import datetime as dt
import json

from synthetic_data import scenario
from synthetic_data.cases import Row
from synthetic_data.files import RAW_LINE
from synthetic_data.wrong_rows import UNKNOWN_SERIAL, Planted

MODEL = scenario.MODELS[0].name
REGION = scenario.REGIONS[0]
INFO_LIMIT = 50


def wrong_shipments() -> Planted:
    """Return wrong rows of the shipments file."""
    planted = Planted()
    base: Row = {
        "model": MODEL,
        "production_lot": "X0000",
        "shipped_month": "2024-05",
        "region": REGION,
        "quantity": 12,
    }
    planted.plant(base | {"model": None}, "model", "missing")
    planted.plant(base | {"quantity": -4}, "quantity", "out_of_range")
    planted.plant(base | {"shipped_month": "05/2024"}, "shipped_month", "not_a_date")
    return planted


def wrong_planned() -> Planted:
    """Return wrong rows of the planned sales file."""
    planted = Planted()
    base: Row = {"model": MODEL, "month": "2026-09", "region": REGION, "quantity": 30}
    planted.plant(base | {"quantity": "about 30"}, "quantity", "not_a_number")
    planted.plant(base | {"month": None}, "month", "missing")
    return planted


def wrong_usage(serial: str) -> Planted:
    """Return wrong rows of the usage file, about a known unit but for one."""
    planted = Planted()
    month = scenario.FIRST_PRODUCTION_DAY.isoformat()[:7]
    base: Row = {"serial": serial, "month": month, "sessions": 8, "energy_kwh": 61.5}
    planted.keep(base | {"serial": UNKNOWN_SERIAL})
    planted.notice("serial", "unknown_serial")
    planted.plant(base | {"sessions": -1}, "sessions", "out_of_range")
    nothing = {"sessions": None, "energy_kwh": None}
    planted.plant(base | nothing, "connected_hours", "missing")
    planted.plant(base | {"energy_kwh": "61,5"}, "energy_kwh", "not_a_number")
    return planted


def wrong_status(serial: str) -> Planted:
    """Return wrong lines of the status file, about a known unit but for one."""
    planted = Planted()
    at = f"{scenario.LAST_DAY - dt.timedelta(days=20)}T06:15:00Z"
    payload: Row = {"connectorId": 1, "errorCode": "NoError", "status": "Available"}

    def line(number: int, *, of: str = serial, **members: object) -> Row:
        call = [2, f"x{number:06d}", "StatusNotification", payload | members]
        return {"serial": of, "received_at": at, "message": call}

    stranger = line(0, of=UNKNOWN_SERIAL)
    planted.keep(stranger)
    planted.notice("serial", "unknown_serial")
    again = line(0, of=UNKNOWN_SERIAL, errorCode="WeakSignal")
    planted.plant(again, "serial", "duplicate_key_in_file")
    cut = json.dumps(line(1))[:60]
    planted.plant({RAW_LINE: cut}, "serial", "malformed_row")
    answer = line(2) | {"message": [3, "x000002", {}]}
    planted.plant(answer, "message", "malformed_message")
    bare = {name: payload[name] for name in ("connectorId", "status")}
    wordless = line(3) | {"message": [2, "x000003", "StatusNotification", bare]}
    planted.plant(wordless, "message", "malformed_message")
    planted.plant(line(4, errorCode="TooHot"), "message", "unknown_code")
    planted.plant(line(5, info="h" * (INFO_LIMIT + 1)), "message", "too_long")
    planted.plant(line(6, connectorId=0, status="Charging"), "message", "out_of_range")
    planted.plant(line(7) | {"received_at": None}, "received_at", "missing")
    return planted
