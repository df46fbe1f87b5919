"""Status calls of the charge-point protocol, as printed, and the limits of its members.

Data    One StatusNotification of OCPP 1.6 (connector 1, OtherError, Faulted, vendor
        code CX019) and one NotifyEvent of OCPP 2.x (TemperatureSensor, Problem,
        CX019), each as a whole call; an empty result, [3,"a1f3",{}].
Values  Open Charge Alliance, OCPP 1.6, 2.0.1 and 2.1: 16 error words, 9 and 5
        states, connector 0 only Available, Unavailable or Faulted; info 50, vendorId
        255, vendorErrorCode 50, techCode 50, techInfo 500 characters; severity 0 to 9
        (2.1); no other member in 1.6. From memory: message id 36 characters, names of
        component and variable 50, actualValue 2500, transactionId 36.
Read    2026-11-27 (secondary readings: library pages that print the schemas).
Digits  Limits are exact.
"""

import datetime as dt
import json

import pytest

from ingest.cells import known_codes
from tests.status_calls import (
    NOTIFY_EVENT,
    RESULT,
    STATUS_16,
    codes,
    component,
    custom_data,
    event,
    evse,
    status_2,
    status_16,
    taken,
    variable,
    without,
)

HAPPENED_AT = dt.datetime.fromisoformat("2025-03-04T17:20:11")
ERROR_WORDS = [
    "ConnectorLockFailure", "EVCommunicationError", "GroundFailure",
    "HighTemperature", "InternalError", "LocalListConflict", "NoError", "OtherError",
    "OverCurrentFailure", "OverVoltage", "PowerMeterFailure", "PowerSwitchFailure",
    "ReaderFailure", "ResetFailure", "UnderVoltage", "WeakSignal",
]  # fmt: skip
STATES_16 = [
    "Available", "Preparing", "Charging", "SuspendedEVSE", "SuspendedEV", "Finishing",
    "Reserved", "Unavailable", "Faulted",
]  # fmt: skip
STATES_2 = ["Available", "Occupied", "Reserved", "Unavailable", "Faulted"]


def test_the_printed_status_notification_is_read():
    found = taken(STATUS_16)

    assert found["message"] == STATUS_16
    assert (found["message_id"], found["action"]) == ("a1f3", "StatusNotification")
    assert found["happened_at"] == HAPPENED_AT
    assert found["words"] == "OtherError;CX019"


def test_the_printed_event_is_read():
    found = taken(NOTIFY_EVENT)

    assert (found["message_id"], found["action"]) == ("b7", "NotifyEvent")
    assert found["happened_at"] == HAPPENED_AT
    assert found["words"] == "TemperatureSensor/Problem;CX019"


def test_the_printed_result_is_no_call():
    assert codes(RESULT) == ["malformed_message"]


@pytest.mark.parametrize("word", ERROR_WORDS)
def test_each_error_word_is_read_and_kept_as_it_is_spelt(word):
    found = taken(without(status_16(errorCode=word), "vendorErrorCode"))

    assert found["words"] == (None if word == "NoError" else word)
    assert word in known_codes("charger_error_codes")


@pytest.mark.parametrize("word", ["groundFailure", "Overheated", ""])
def test_a_word_that_the_protocol_does_not_know_is_refused(word):
    assert codes(status_16(errorCode=word)) == ["unknown_code"]


@pytest.mark.parametrize("state", STATES_16)
def test_each_state_of_1_6_is_read(state):
    assert taken(status_16(status=state))


@pytest.mark.parametrize("state", ["Occupied", "Idle"])
def test_a_state_that_1_6_does_not_know_is_refused(state):
    assert codes(status_16(status=state)) == ["unknown_code"]


@pytest.mark.parametrize("state", STATES_16)
def test_the_main_controller_has_three_states_only(state):
    message = status_16(connectorId=0, status=state)

    if state in ("Available", "Unavailable", "Faulted"):
        assert taken(message)
    else:
        assert codes(message) == ["out_of_range"]


@pytest.mark.parametrize("state", STATES_2)
def test_each_state_of_2_x_is_read_and_carries_no_error_word(state):
    assert taken(status_2(connectorStatus=state))["words"] is None


@pytest.mark.parametrize("state", ["Charging", "Preparing", "faulted"])
def test_a_state_that_2_x_does_not_know_is_refused(state):
    assert codes(status_2(connectorStatus=state)) == ["unknown_code"]


@pytest.mark.parametrize(
    ("made", "member", "longest"),
    [
        (status_16, "info", 50),
        (status_16, "vendorId", 255),
        (status_16, "vendorErrorCode", 50),
        (event, "techCode", 50),
        (event, "techInfo", 500),
        (event, "actualValue", 2500),
        (event, "transactionId", 36),
        (component, "name", 50),
        (component, "instance", 50),
        (variable, "name", 50),
        (variable, "instance", 50),
        (custom_data, "vendorId", 255),
    ],
)
def test_a_text_is_at_most_as_long_as_the_protocol_says(made, member, longest):
    for n in (longest - 1, longest):
        assert taken(made(**{member: "x" * n}))

    assert codes(made(**{member: "x" * (longest + 1)})) == ["too_long"]


def test_a_message_id_is_at_most_36_characters_long():
    call = json.loads(STATUS_16)
    for n in (35, 36):
        call[1] = "x" * n
        assert taken(json.dumps(call))["message_id"] == "x" * n

    call[1] = "x" * 37
    assert codes(json.dumps(call)) == ["too_long"]


@pytest.mark.parametrize("severity", [0, 1, 8, 9])
def test_a_severity_of_2_1_is_0_to_9(severity):
    assert taken(event(severity=severity))


@pytest.mark.parametrize("severity", [-1, 10])
def test_a_severity_beyond_is_refused(severity):
    assert codes(event(severity=severity)) == ["out_of_range"]


@pytest.mark.parametrize(
    ("made", "member"),
    [
        (status_16, "connectorId"),
        (status_2, "evseId"),
        (status_2, "connectorId"),
        (evse, "id"),
        (evse, "connectorId"),
    ],
)
def test_connectors_count_from_zero(made, member):
    message = made(**{member: 1})
    assert taken(message)

    assert codes(made(**{member: -1})) == ["out_of_range"]
