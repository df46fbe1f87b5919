"""One event that a charger reported by itself, as the call it sent."""

import datetime as dt
import json
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any, LiteralString, NoReturn

from pydantic import AfterValidator, StringConstraints, ValidationError
from pydantic_core import InitErrorDetails, PydanticCustomError

from ingest.cells import Allowed, Moment, Record, Serial, problem
from ingest.kinds.ocpp import payload_model

CALL = 2  # the first member of a message that asks for something
N_MEMBERS = 4
MOST_ID = 36
ACTIONS = ("StatusNotification", "NotifyEvent")
LONGEST_MESSAGE = 65_536  # no call that is read comes near it
REMEMBERED = 4096  # messages, between checking a row and keeping it
# What pydantic says of a payload, as our stable codes. All else is malformed.
CODES: dict[str, tuple[LiteralString, str]] = {
    "string_too_long": ("too_long", "must have at most {max_length} characters"),
    "literal_error": ("unknown_code", "must be {expected}"),
    "greater_than_equal": ("out_of_range", "must be at least {ge}"),
    "less_than_equal": ("out_of_range", "must be at most {le}"),
    "missing": ("malformed_message", "is required and not there"),
    "extra_forbidden": ("malformed_message", "is no member that the protocol knows"),
}
# Our own checks carry code and words themselves.
OWN_CODES = frozenset({"not_a_date", "out_of_range"})


@dataclass(frozen=True, slots=True)
class Call:
    """What is read from a message.

    Attributes
    ----------
    message_id, action : str
    happened_at : datetime.datetime or None
        As the charger gives it, in UTC.
    words : str or None
        Error words in their own spelling with `;` between; None without an error.
    """

    message_id: str
    action: str
    happened_at: dt.datetime | None
    words: str | None


@lru_cache(maxsize=REMEMBERED)
def call_of(message: str) -> Call:
    """Return what a message says.

    Raises
    ------
    PydanticCustomError, ValidationError
        It is no call that the protocol knows, or not one that is read.
    """
    message_id, action, members = _members(message)
    try:
        payload = payload_model(action, members).model_validate(members)
    except ValidationError as error:
        _refuse(action, error)
    told = (word.strip() for word in payload.words())
    words = ";".join(dict.fromkeys(word for word in told if word)) or None
    return Call(message_id, action, payload.happened_at(), words)


def _members(message: str) -> tuple[str, str, dict[str, Any]]:
    call = _parsed(message)
    if not isinstance(call, list) or len(call) != N_MEMBERS:
        raise problem(
            "malformed_message", 'must be a call: [2, "id", "Action", {payload}]'
        )
    kind, message_id, action, payload = call
    if type(kind) is not int or kind != CALL:
        raise problem("malformed_message", "must begin with 2, as a call does")
    _demand_text("the message id", message_id)
    if len(message_id) > MOST_ID:
        raise problem(
            "too_long", f"the message id must have at most {MOST_ID} characters"
        )
    _demand_text("the action", action)
    if action not in ACTIONS:
        raise problem(
            "unknown_code", f"the action must be {' or '.join(ACTIONS)} to be read"
        )
    if not isinstance(payload, dict):
        raise problem("malformed_message", f"the payload of {action} must be an object")
    return message_id, action, payload


def _parsed(message: str) -> object:
    try:
        return json.loads(message, parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise problem("malformed_message", "must be JSON text") from None


def _no_number(name: str) -> NoReturn:
    raise ValueError(name)  # NaN and Infinity are no JSON


def _demand_text(what: str, member: object) -> None:
    if not isinstance(member, str) or not member.strip() or not _encodes(member):
        raise problem("malformed_message", f"{what} must be text")


def _encodes(text: str) -> bool:
    # JSON can spell half a character, which no file or store holds.
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def _refuse(action: str, error: ValidationError) -> NoReturn:
    """Raise all that is wrong with a payload, each with its member named."""
    details: list[InitErrorDetails] = []
    for found in error.errors(include_url=False):
        place = ".".join(str(part) for part in found["loc"])
        if found["type"] in CODES:
            code, words = CODES[found["type"]]
            words = words.format(**found.get("ctx", {}))
        elif found["type"] in OWN_CODES:
            code, words = found["type"], found["msg"]
        else:
            code = "malformed_message"
            words = found["msg"].replace("Input should be", "must be")
        details.append(
            InitErrorDetails(
                type=PydanticCustomError(
                    code,
                    "{words}",
                    {"words": f"{place} of {action} {words}"},
                ),
                loc=(),
                input=found["input"],
            )
        )
    raise ValidationError.from_exception_data("message", details)


def _read(message: str) -> str:
    call_of(message)
    return message


class StatusEvent(Record):
    """One event that a charger reported by itself."""

    serial: Serial
    """Serial number of the unit; it may be unknown to the units so far"""
    received_at: Moment
    """When the back office received the message"""
    message: Annotated[
        str,
        StringConstraints(strip_whitespace=True, max_length=LONGEST_MESSAGE),
        AfterValidator(_read),
        Allowed('a call: [2, "id", "Action", {payload}]'),
    ]
    """The OCPP call as the charger sent it: StatusNotification or NotifyEvent"""

    def derived(self) -> tuple[object, ...]:
        """Return message_id, action, happened_at and words, as the table has them."""
        call = call_of(self.message)
        happened_at = call.happened_at or self.received_at
        return call.message_id, call.action, happened_at, call.words


DERIVED_FIELDS = ("message_id", "action", "happened_at", "words")
