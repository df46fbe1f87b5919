"""Which day of a record must not lie before which other one."""

import datetime as dt

from pydantic import ValidationInfo

from ingest.cells import problem

# Which recorded day must not lie after this one, nearest first; True: nor on it.
EARLIER: dict[str, tuple[tuple[str, bool], ...]] = {
    "shipped_on": (("manufactured_on", False),),
    "in_service_on": (("shipped_on", False), ("manufactured_on", False)),
    "retired_on": (
        ("in_service_on", False),
        ("shipped_on", False),
        ("manufactured_on", False),
    ),
    "failed_on": (("last_known_good_on", True),),
    "received_on": (("failed_on", False), ("last_known_good_on", True)),
    "confirmed_on": (("received_on", False),),
    "closed_on": (("confirmed_on", False), ("received_on", False)),
}


def in_order(day: dt.date, info: ValidationInfo) -> dt.date:
    """Return the day, unless a day that comes before it lies after it."""
    for name, strictly in EARLIER[str(info.field_name)]:
        before = info.data.get(name)
        if before is None:
            continue
        if day < before or (strictly and day == before):
            words = "must be after" if strictly else "must not be before"
            raise problem("date_order", f"{words} {name} {before}")
        break
    return day
