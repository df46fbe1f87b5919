"""What invented chargers sent: sound calls, at the right time, with likely words."""

import datetime as dt
import json
from typing import Any

import numpy as np
import pytest

from ingest.cells import known_codes
from ingest.kinds.status import call_of
from synthetic_data import scenario
from synthetic_data.fleet import Fleet, draw_fleet
from synthetic_data.register import unit_rows
from synthetic_data.status import status_rows

Row = dict[str, Any]


@pytest.fixture(scope="module")
def fleet() -> Fleet:
    return draw_fleet(6000, 7)


@pytest.fixture(scope="module")
def units(fleet: Fleet) -> list[Row]:
    return unit_rows(fleet.register, fleet.retired, np.random.default_rng(1))


@pytest.fixture(scope="module")
def sent(fleet: Fleet, units: list[Row]) -> list[Row]:
    return status_rows(fleet.register, fleet.events, units, np.random.default_rng(2))


def words_of(row: Row) -> list[str]:
    words = call_of(json.dumps(row["message"])).words
    return words.split(";") if words else []


def test_every_call_is_read_and_every_word_is_known(sent: list[Row]) -> None:
    known = known_codes("charger_error_codes")
    words = {word for row in sent for word in words_of(row)}

    assert words <= known
    assert any("/" in word for word in words)
    assert {"OtherError", "CX014", "EVCommunicationError"} <= words


def test_the_protocol_is_that_of_the_model(units: list[Row], sent: list[Row]) -> None:
    connector = {row["serial"]: row["connector"] for row in units}
    for row in sent:
        action, payload = row["message"][2:]
        is_new = action == "NotifyEvent" or "connectorStatus" in payload
        assert is_new == (connector[row["serial"]] == "type_2")


def test_about_a_third_of_the_cases_that_show_a_word_has_messages(
    fleet: Fleet, units: list[Row], sent: list[Row]
) -> None:
    laws = scenario.mode_laws()
    showing = {
        units[unit]["serial"]
        for unit, mode in zip(fleet.events.unit, fleet.events.mode, strict=True)
        if set(laws[mode].error_words) - {"NoError"}
    }
    telling = {row["serial"] for row in sent}

    assert telling <= showing
    assert 0.25 < len(telling) / len(showing) < 0.42


def test_messages_come_in_the_30_days_before_a_failure_and_in_service(
    fleet: Fleet, units: list[Row], sent: list[Row]
) -> None:
    failed: dict[str, list[int]] = {}
    for unit, day in zip(fleet.events.unit, fleet.events.failed, strict=True):
        failed.setdefault(units[unit]["serial"], []).append(int(day))
    first = {
        row["serial"]: int(fleet.register.in_service[place])
        for place, row in enumerate(units)
    }
    for row in sent:
        at = dt.datetime.fromisoformat(row["received_at"]).date()
        serial = row["serial"]
        assert any(0 <= day - at.toordinal() <= 30 for day in failed[serial])
        assert first[serial] <= at.toordinal() <= scenario.LAST_DAY.toordinal()


def test_messages_come_in_order_and_no_number_comes_twice(sent: list[Row]) -> None:
    times = [row["received_at"] for row in sent]
    numbers = [row["message"][1] for row in sent]

    assert times == sorted(times)
    assert len(set(numbers)) == len(numbers)
