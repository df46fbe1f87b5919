"""The rows of the repairs file: what the workshop wrote about each return."""

from typing import Any

import numpy as np

from synthetic_data import scenario
from synthetic_data.lives import DISPOSITIONS, RETURNED_AS_FOUND, Events
from synthetic_data.register import Register
from synthetic_data.scenario import Integers, ModeLaw, day_number, day_of
from synthetic_data.symptoms import Intake

Row = dict[str, Any]

FAILED_ON_WRITTEN = 0.85
LAST_GOOD_WRITTEN = 0.12
CONFIRMED_ON_FORGOTTEN = 0.02
CAUSE_UNKNOWN = 0.15
MODEL_PART_COSTS = (18.0, 240.0)  # invented, in the scenario's currency
FREIGHT_COSTS = (9.0, 45.0)


def case_ids(events: Events) -> list[str]:
    """Return the workshop's numbers, in order of receipt."""
    return [f"W-{number:06d}" for number in range(1, len(events) + 1)]


def repair_rows(
    events: Events,
    serials: list[str],
    replacements: list[str | None],
    firmware: list[str],
    rng: np.random.Generator,
) -> list[Row]:
    """Return the rows of the repairs file, in order of receipt.

    Parameters
    ----------
    events : Events
        The returns received by the last day.
    serials, firmware : list of str, one per unit
        Serial and firmware version of each unit of the register.
    replacements : list of str or None, one per event
        Serial of the unit sent instead.
    rng : numpy.random.Generator
        Draws evidence and which cells were left empty.
    """
    intake = Intake(rng)
    laws = scenario.mode_laws()
    rows = []
    for index, case_id in enumerate(case_ids(events)):
        unit = int(events.unit[index])
        law = laws[events.mode[index]]
        row: Row = {"case_id": case_id, "serial": serials[unit]}
        row |= _reported_days(events, index, rng)
        row |= intake.evidence(law)
        row["firmware_version"] = firmware[unit]
        row |= _outcome(events, index, law, replacements[index], rng)
        row["technician"] = _one(scenario.TECHNICIANS, rng)
        rows.append(row)
    return rows


def _one(choices: tuple[str, ...], rng: np.random.Generator) -> str:
    return choices[int(rng.random() * len(choices))]


def _reported_days(events: Events, index: int, rng: np.random.Generator) -> Row:
    failed = int(events.failed[index])
    written = rng.random() < FAILED_ON_WRITTEN
    good = None
    if written and rng.random() < LAST_GOOD_WRITTEN:
        good = day_of(failed - 1 - int(rng.random() * 30))
    return {
        "received_on": day_of(events.received[index]),
        "failed_on": day_of(failed) if written else None,
        "last_known_good_on": good,
    }


def _outcome(
    events: Events,
    index: int,
    law: ModeLaw,
    replacement: str | None,
    rng: np.random.Generator,
) -> Row:
    """Return the cells known by the last day: none of them for an open case."""
    last = day_number(scenario.LAST_DAY)
    confirmed, closed = int(events.confirmed[index]), int(events.closed[index])
    if confirmed > last:
        return {}
    row: Row = {
        "confirmed_mode": law.mode,
        "mechanism": _one(law.mechanisms, rng) if law.mechanisms else None,
        "cause_category": _cause(law, rng),
        "confirmed_on": day_of(confirmed),
    }
    if closed > last:
        return row
    if rng.random() < CONFIRMED_ON_FORGOTTEN:
        row["confirmed_on"] = None
    row["closed_on"] = day_of(closed)
    disposition = int(events.disposition[index])
    if disposition == RETURNED_AS_FOUND:
        row["disposition"] = "returned_as_found"
    else:
        row["disposition"] = DISPOSITIONS[disposition]
    row["replaced_by_serial"] = replacement
    return row | _costs(row["disposition"], law, rng)


def _cause(law: ModeLaw, rng: np.random.Generator) -> str | None:
    if law.mode == "no_fault_found":
        return None
    return "unknown" if rng.random() < CAUSE_UNKNOWN else _one(law.causes, rng)


def _costs(disposition: str, law: ModeLaw, rng: np.random.Generator) -> Row:
    low, high = FREIGHT_COSTS
    row: Row = {
        "labour_minutes": 20 + 5 * int(rng.random() * 30),
        "freight_cost": round(low + (high - low) * rng.random(), 2),
        "currency": scenario.CURRENCY,
    }
    if disposition == "part_replaced" and law.part:
        low, high = MODEL_PART_COSTS
        row["parts_used"] = f"{law.part}*1"
        row["parts_cost"] = round(low + (high - low) * rng.random() ** 2, 2)
    return row


def replacements(
    events: Events, register: Register, serials: list[str]
) -> list[str | None]:
    """Return the serial sent instead, one per event: a unit of the same model.

    It is the first such unit put in service on or after the closing day that has
    not been used for this already.
    """
    last = day_number(scenario.LAST_DAY)
    wanted = DISPOSITIONS.index("unit_replaced")
    queues = [_queue(register, model) for model in range(len(scenario.MODELS))]
    used: set[int] = set()
    found: list[str | None] = []
    for index in range(len(events)):
        closed = int(events.closed[index])
        sent = None
        if events.disposition[index] == wanted and closed <= last:
            queue = queues[register.model[events.unit[index]]]
            days = register.in_service[queue]
            later = queue[np.searchsorted(days, closed) :].tolist()
            sent = next((unit for unit in later if unit not in used), None)
        if sent is not None:
            used.add(sent)
        found.append(None if sent is None else serials[sent])
    return found


def _queue(register: Register, model: int) -> Integers:
    units = np.flatnonzero(register.model == model)
    return units[np.argsort(register.in_service[units], kind="stable")]
