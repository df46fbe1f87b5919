"""Laws of status messages: any JSON is a call or a problem, and nothing is changed."""

import json

from hypothesis import given, settings
from hypothesis import strategies as st

from ingest.records import KINDS
from ingest.validation import validated
from tests.status_calls import NOTIFY_EVENT, STATUS_2, STATUS_16

CODES = {
    "malformed_message", "too_long", "unknown_code", "out_of_range", "not_a_date",
}  # fmt: skip
CALLS = [
    json.loads(STATUS_16),
    json.loads(NOTIFY_EVENT),
    [2, "c1", "StatusNotification", STATUS_2],
]
NAMES = st.sampled_from(
    sorted({name for call in CALLS for name in call[3]} | {"colour", "customData"})
)
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=60),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(NAMES, inner, max_size=4)
    ),
    max_leaves=8,
)


def judged(message):
    cells = {"serial": "U-1", "received_at": "2025-03-04T18:00", "message": message}
    return validated(KINDS["status"], cells)


def holds(found, message):
    if isinstance(found, list):
        assert {problem.field for problem in found} == {"message"}
        assert {problem.code for problem in found} <= CODES
        return
    row = dict(zip(KINDS["status"].columns, KINDS["status"].values(found), strict=True))
    call = json.loads(message)
    assert row["message"] == message.strip()
    assert [row["message_id"], row["action"]] == call[1:3]
    assert row["words"] is None or row["words"].strip("; ")


@settings(max_examples=300, deadline=None)
@given(VALUES | st.text(max_size=40))
def test_any_value_is_a_call_or_a_problem_of_the_message(value):
    message = value if isinstance(value, str) else json.dumps(value)

    holds(judged(message), message)


@settings(max_examples=500, deadline=None)
@given(st.sampled_from(CALLS), NAMES, VALUES)
def test_a_call_with_any_member_is_a_call_or_a_problem_of_the_message(
    call, name, value
):
    message = json.dumps([*call[:3], call[3] | {name: value}])

    holds(judged(message), message)


@settings(max_examples=200, deadline=None)
@given(st.sampled_from([json.dumps(call) for call in CALLS]), st.data())
def test_a_call_cut_or_changed_anywhere_is_a_call_or_a_problem(message, data):
    place = data.draw(st.integers(0, len(message)))
    changed = message[:place] + data.draw(st.text(max_size=2)) + message[place + 1 :]

    holds(judged(changed), changed)
