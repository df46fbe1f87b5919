"""What chargers reported by themselves before they failed, as OCPP calls.

Type 1 models speak OCPP 1.6, type 2 models OCPP 2.0.1 (secondary readings of both).
"""

import datetime as dt
from dataclasses import dataclass
from typing import Any

import numpy as np

from synthetic_data.cases import Row
from synthetic_data.lives import Events
from synthetic_data.register import Register
from synthetic_data.scenario import day_of, mode_laws, read_table

SHARE_REPORTED = 1 / 3  # of the returns
DAYS_BEFORE = 30  # the earliest message comes so long before the failure
MOST_INCIDENTS = 3
LATEST_S = 85_000  # of a day: what follows a message comes on the same day
NOTHING = "NoError"
VENDOR = "invented.example"


@dataclass(frozen=True, slots=True)
class Incident:
    """One moment at which a charger had something to report."""

    serial: str
    at: dt.datetime
    word: str

    def wrapped(self, seconds: int, message: list[Any]) -> Row:
        """Return a call as the back office kept it, some seconds later."""
        received = self.at + dt.timedelta(seconds=seconds)
        return {
            "serial": self.serial,
            "received_at": _written(received),
            "message": message,
        }


def _written(moment: dt.datetime) -> str:
    return f"{moment.isoformat(timespec='seconds')}Z"


def status_rows(
    register: Register, events: Events, units: list[Row], rng: np.random.Generator
) -> list[Row]:
    """Return the messages of a third of the returns, in order of time.

    The words are those that the true mode makes likely; a mode that shows none sends
    none.

    Parameters
    ----------
    register, events
        Units and returns.
    units : list of dict
        The rows of the units file, as the register.
    rng : numpy.random.Generator
    """
    told = {row["word"]: row for row in read_table("events.csv")}
    laws = mode_laws()
    rows: list[Row] = []
    for index in range(len(events)):
        unit = int(events.unit[index])
        chances = {
            word: chance
            for word, chance in laws[events.mode[index]].error_words.items()
            if word != NOTHING
        }
        if not chances or rng.random() >= SHARE_REPORTED:
            continue
        earliest = int(register.in_service[unit])
        of_day = int(events.failed[index])
        for _ in range(1 + int(rng.random() * MOST_INCIDENTS)):
            day = max(earliest, of_day - int(rng.random() * (DAYS_BEFORE + 1)))
            at = dt.datetime.combine(day_of(day), dt.time())
            at += dt.timedelta(seconds=int(rng.random() * LATEST_S))
            word = _drawn(chances, rng)
            incident = Incident(units[unit]["serial"], at, word)
            make = _of_2_0_1 if units[unit]["connector"] == "type_2" else _of_1_6
            rows += make(incident, told[word], len(rows))
    return sorted(rows, key=lambda row: (row["received_at"], row["message"][1]))


def _drawn(chances: dict[str, float], rng: np.random.Generator) -> str:
    shares = np.array(list(chances.values()))
    place = np.searchsorted(np.cumsum(shares) / shares.sum(), rng.random())
    return list(chances)[min(int(place), len(chances) - 1)]


def _of_1_6(incident: Incident, told: Row, number: int) -> list[Row]:
    """Return the fault, and ten minutes later that it is over."""
    fault: Row = {
        "connectorId": 1,
        "errorCode": told["native"],
        "status": "Faulted",
        "timestamp": _written(incident.at),
    }
    if told["native"] != incident.word and told["native"] == "OtherError":
        fault |= {"vendorId": VENDOR, "vendorErrorCode": incident.word}
    over = fault | {"errorCode": NOTHING, "status": "Available"}
    over = {name: over[name] for name in ("connectorId", "errorCode", "status")}
    over["timestamp"] = _written(incident.at + dt.timedelta(minutes=10))
    calls = ((2, fault), (602, over))
    return [
        incident.wrapped(
            seconds, [2, f"m{number + place:06d}", "StatusNotification", payload]
        )
        for place, (seconds, payload) in enumerate(calls)
    ]


def _of_2_0_1(incident: Incident, told: Row, number: int) -> list[Row]:
    """Return the event, and the state of the connector after it."""
    event: Row = {
        "eventId": number,
        "timestamp": _written(incident.at),
        "trigger": "Alerting",
        "actualValue": told["value"],
        "component": {"name": told["component"], "evse": {"id": 1, "connectorId": 1}},
        "variable": {"name": told["variable"]},
        "eventNotificationType": "HardWiredNotification",
    }
    if incident.word.startswith("CX"):
        event["techCode"] = incident.word
    notified = {
        "generatedAt": _written(incident.at + dt.timedelta(seconds=1)),
        "seqNo": 0,
        "tbc": False,
        "eventData": [event],
    }
    state = {
        "timestamp": _written(incident.at),
        "connectorStatus": "Faulted",
        "evseId": 1,
        "connectorId": 1,
    }
    calls = ((2, "NotifyEvent", notified), (3, "StatusNotification", state))
    return [
        incident.wrapped(seconds, [2, f"m{number + place:06d}", action, payload])
        for place, (seconds, action, payload) in enumerate(calls)
    ]
