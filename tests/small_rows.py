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
ROWS = {"units": UNIT, "repairs": REPAIR, "readings": READING}


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
