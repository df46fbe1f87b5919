"""Calls as a charger sends them, printed ones and changed ones, and what is read."""

import json

from ingest.records import KINDS
from ingest.validation import validated

STATUS_16 = (
    '[2,"a1f3","StatusNotification",{"connectorId":1,"errorCode":"OtherError",'
    '"status":"Faulted","info":"handle 88 C","timestamp":"2025-03-04T17:20:11Z",'
    '"vendorId":"chargex.inl.gov","vendorErrorCode":"CX019"}]'
)
RESULT = '[3,"a1f3",{}]'
NOTIFY_EVENT = (
    '[2,"b7","NotifyEvent",{"generatedAt":"2025-03-04T17:20:12Z","seqNo":0,'
    '"tbc":false,"eventData":[{"eventId":41,"timestamp":"2025-03-04T17:20:11Z",'
    '"trigger":"Alerting","actualValue":"true","techCode":"CX019","component":'
    '{"name":"TemperatureSensor","evse":{"id":1,"connectorId":1}},"variable":'
    '{"name":"Problem"},"eventNotificationType":"HardWiredNotification"}]}]'
)
STATUS_2 = {
    "timestamp": "2025-03-04T17:20:11Z",
    "connectorStatus": "Faulted",
    "evseId": 1,
    "connectorId": 1,
}


def of(message):
    cells = {"serial": "U-1", "received_at": "2025-03-04T18:00", "message": message}
    return validated(KINDS["status"], cells)


def taken(message):
    found = of(message)
    assert not isinstance(found, list), found
    names = KINDS["status"].columns
    return dict(zip(names, KINDS["status"].values(found), strict=True))


def codes(message):
    found = of(message)
    assert isinstance(found, list), f"accepted: {found}"
    assert {problem.field for problem in found} == {"message"}
    return [problem.code for problem in found]


def status_16(**members):
    call = json.loads(STATUS_16)
    call[3] |= members
    return json.dumps(call)


def status_2(**members):
    return json.dumps([2, "c1", "StatusNotification", STATUS_2 | members])


def event(path=(), **members):
    """Return the printed event with members added at a place below its event."""
    call = json.loads(NOTIFY_EVENT)
    place = call[3]["eventData"][0]
    for name in path:
        place = place[name]
    place |= members
    return json.dumps(call)


def component(**members):
    return event(["component"], **members)


def variable(**members):
    return event(["variable"], **members)


def evse(**members):
    return event(["component", "evse"], **members)


def custom_data(**members):
    return status_2(customData=members)


def without(message, name, *path):
    call = json.loads(message)
    place = call[3]
    for step in path:
        place = place[step]
    del place[name]
    return json.dumps(call)
