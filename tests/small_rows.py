"""One good row of each kind, to change a cell of and see what is said about it."""

from ingest.records import KINDS
from ingest.validation import validated

UNIT = {"serial": "U-001", "model": "Model A"}
REPAIR = {"case_id": "R-1", "serial": "U-001", "received_on": "2025-06-01"}
READING = {
    "case_id": "R-1",
    "check": "pilot_continuity",
    "taken_at": "2025-06-02",
    "stage": "diagnosis",
    "value": "0.4",
    "unit": "ohm",
}
SHIPMENT = {"model": "Model A", "shipped_month": "2025-03", "quantity": "40"}
PLANNED_SALE = {"model": "Model A", "month": "2026-01", "quantity": "25"}
USAGE = {"serial": "U-001", "month": "2025-03", "sessions": "31"}
STATUS = {
    "serial": "U-001",
    "received_at": "2025-03-04T17:20:12Z",
    "message": '[2, "a1", "StatusNotification", '
    '{"connectorId": 1, "errorCode": "GroundFailure", "status": "Faulted"}]',
}
ROWS = {
    "units": UNIT,
    "shipments": SHIPMENT,
    "planned_sales": PLANNED_SALE,
    "usage": USAGE,
    "repairs": REPAIR,
    "readings": READING,
    "status": STATUS,
}


def record(kind, **cells):
    found = validated(KINDS[kind], ROWS[kind] | cells)
    assert not isinstance(found, list), found
    return found


def problems(kind, without=(), **cells):
    row = {k: v for k, v in (ROWS[kind] | cells).items() if k not in without}
    found = validated(KINDS[kind], row)
    assert isinstance(found, list), f"accepted: {found}"
    return [(problem.field, problem.code) for problem in found]


def message(kind, **cells):
    found = validated(KINDS[kind], ROWS[kind] | cells)
    assert isinstance(found, list), f"accepted: {found}"
    return found[0].message
