"""A status event: which calls are read, and which members they must have."""

import datetime as dt
import json

import pytest

from tests.small_rows import message, problems, record
from tests.status_calls import (
    NOTIFY_EVENT,
    STATUS_2,
    STATUS_16,
    codes,
    component,
    event,
    status_2,
    status_16,
    taken,
    without,
)

RECEIVED_AT = dt.datetime.fromisoformat("2025-03-04T18:00:00")


@pytest.mark.parametrize("member", ["connectorId", "errorCode", "status"])
def test_a_member_that_1_6_requires_must_be_there(member):
    assert codes(without(STATUS_16, member)) == ["malformed_message"]


@pytest.mark.parametrize("member", ["info", "timestamp", "vendorId", "vendorErrorCode"])
def test_a_member_that_1_6_leaves_free_may_be_missing(member):
    assert taken(without(STATUS_16, member))


def test_without_a_time_of_the_charger_the_time_of_receipt_stands():
    found = taken(without(STATUS_16, "timestamp"))

    assert found["happened_at"] == RECEIVED_AT


@pytest.mark.parametrize("member", STATUS_2)
def test_a_member_that_2_x_requires_must_be_there(member):
    # Without its two own members it reads as 1.6, which it is none of either.
    found = codes(without(status_2(), member))

    assert set(found) == {"malformed_message"}


@pytest.mark.parametrize("member", ["generatedAt", "seqNo", "eventData"])
def test_a_member_that_an_event_message_requires_must_be_there(member):
    assert codes(without(NOTIFY_EVENT, member)) == ["malformed_message"]


@pytest.mark.parametrize(
    "member",
    [
        "eventId", "timestamp", "trigger", "actualValue", "component", "variable",
        "eventNotificationType",
    ],
)  # fmt: skip
def test_a_member_that_an_event_requires_must_be_there(member):
    found = codes(without(NOTIFY_EVENT, member, "eventData", 0))

    assert found == ["malformed_message"]


@pytest.mark.parametrize("trigger", ["Alerting", "Delta", "Periodic"])
def test_each_trigger_is_read(trigger):
    assert taken(event(trigger=trigger))


@pytest.mark.parametrize(
    "kind",
    [
        "HardWiredNotification", "HardWiredMonitor", "PreconfiguredMonitor",
        "CustomMonitor",
    ],
)  # fmt: skip
def test_each_kind_of_notification_is_read(kind):
    assert taken(event(eventNotificationType=kind))


@pytest.mark.parametrize("member", ["trigger", "eventNotificationType"])
def test_a_word_of_an_event_that_the_protocol_does_not_know_is_refused(member):
    assert codes(event(**{member: "Sometimes"})) == ["unknown_code"]


@pytest.mark.parametrize(
    "message", [status_16(colour="red"), status_16(customData={"vendorId": "x"})]
)
def test_1_6_knows_no_other_member(message):
    assert codes(message) == ["malformed_message"]


def test_2_x_knows_no_other_member_than_what_a_vendor_adds():
    custom = {"vendorId": "invented", "colour": "red"}

    assert taken(status_2(customData=custom))
    assert taken(event(customData=custom))
    assert codes(status_2(colour="red")) == ["malformed_message"]
    assert codes(event(colour="red")) == ["malformed_message"]
    assert codes(status_2(customData={"colour": "red"})) == ["malformed_message"]


@pytest.mark.parametrize(
    "text",
    [
        "Faulted", "", "{}", "[]", "[2]", "2", "null", '[2,"a","StatusNotification"]',
        '[2,"a","StatusNotification",{},{}]', '[4,"a","InternalError","",{}]',
        '["2","a","StatusNotification",{}]', '[2.0,"a","StatusNotification",{}]',
        '[true,"a","StatusNotification",{}]', '[2,"","StatusNotification",{}]',
        '[2,7,"StatusNotification",{}]', '[2,"a",null,{}]',
        '[2,"a","StatusNotification",[]]', '[2,"a","NotifyEvent",{"seqNo":NaN}]',
        '[2,"\\ud800","StatusNotification",{}]', "[" * 60_000, '[2,"a"' + "0" * 5000,
    ],
    ids=range(21),
)  # fmt: skip
def test_what_is_no_call_is_malformed(text):
    assert codes(text) == ["malformed_message"]


@pytest.mark.parametrize(
    "action", ["BootNotification", "Heartbeat", "statusnotification"]
)
def test_a_call_that_is_not_read_is_an_unknown_code(action):
    assert codes(f'[2,"a","{action}",{{}}]') == ["unknown_code"]


@pytest.mark.parametrize(
    "message",
    [
        status_16(connectorId="1"), status_16(connectorId=1.5),
        status_16(connectorId=True), status_16(info=7), status_16(info="\ud800"),
        event(cleared="no"), event(component="TemperatureSensor"),
        event(eventId="41"), component(name=None),
    ],
    ids=range(9),
)  # fmt: skip
def test_a_member_of_another_type_is_malformed(message):
    assert codes(message) == ["malformed_message"]


@pytest.mark.parametrize(
    "time", ["2025-03-04", "2025-02-30T00:00:00Z", "now", "", "20250304T172011Z"]
)
def test_a_time_that_is_none_is_not_a_date(time):
    assert codes(status_16(timestamp=time)) == ["not_a_date"]
    assert codes(status_2(timestamp=time)) == ["not_a_date"]


@pytest.mark.parametrize(
    "time",
    [
        "2025-03-04T19:20:11+02:00",
        "2025-03-04T17:20:11.000000000Z",
        "2025-03-04T17:20:11",
    ],
)
def test_a_time_is_kept_in_utc(time):
    happened_at = dt.datetime.fromisoformat("2025-03-04T17:20:11")

    assert taken(status_16(timestamp=time))["happened_at"] == happened_at


def test_all_that_is_wrong_with_a_message_is_told_and_the_member_named():
    call = status_16(
        connectorId=0,
        errorCode="Hot",
        status="Charging",
        info="x" * 51,
        timestamp="now",
    )

    assert sorted(codes(call)) == [
        "not_a_date", "out_of_range", "too_long", "unknown_code"
    ]  # fmt: skip
    assert message("status", message=status_16(info="x" * 51)).startswith(
        "info of StatusNotification must have at most 50 characters, got 'xxx"
    )
    assert message("status", message=component(name="x" * 51)).startswith(
        "eventData.0.component.name of NotifyEvent must have at most 50 characters"
    )


@pytest.mark.parametrize(
    ("members", "words"),
    [
        ({}, "TemperatureSensor/Problem;CX019"),
        ({"actualValue": "True"}, "TemperatureSensor/Problem;CX019"),
        ({"trigger": "Delta"}, "TemperatureSensor/Problem;CX019"),
        ({"actualValue": "91.5"}, "TemperatureSensor/Problem;CX019"),
        ({"actualValue": "91.5", "trigger": "Delta"}, None),
        ({"actualValue": "false"}, None),
        ({"cleared": True}, None),
        ({"techCode": " "}, "TemperatureSensor/Problem"),
        ({"cleared": False, "techCode": "E 7"}, "TemperatureSensor/Problem;E 7"),
    ],
)
def test_an_event_says_what_is_wrong_unless_it_is_over(members, words):
    assert taken(event(**members))["words"] == words


def test_words_of_several_events_are_told_once_and_the_first_time_stands():
    call = json.loads(NOTIFY_EVENT)
    (first,) = call[3]["eventData"]
    call[3]["eventData"] += [
        first | {"timestamp": "2025-03-04T17:00:00Z"},
        first | {"component": {"name": "RCD"}, "variable": {"name": "Tripped"}},
    ]

    found = taken(json.dumps(call))

    assert found["words"] == "TemperatureSensor/Problem;CX019;RCD/Tripped"
    assert found["happened_at"].isoformat() == "2025-03-04T17:00:00"


def test_a_message_that_is_too_long_is_not_read():
    assert codes(status_16(info="x" * 70_000)) == ["too_long"]


def test_a_status_event_needs_serial_and_time_of_receipt():
    assert record("status").serial == "U-001"
    assert problems("status", received_at="yesterday", serial="?") == [
        ("serial", "bad_pattern"),
        ("received_at", "not_a_date"),
    ]
