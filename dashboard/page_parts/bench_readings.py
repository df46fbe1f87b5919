"""Checks noted on the bench: held for the one unit on screen, never stored.

They live in the session alone, with what was repaired and answered. They end with a
reload, another unit or another day: nothing that was proved dead then says anything
now.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import cast

import streamlit as st

from dashboard.queries.intake import Intake
from ingest.errors import UsageError

PROVED_DEAD = "proved_dead"
OPENED = (
    "That it was opened again, or powered elsewhere, is noted: prove it dead again."
)


def noted(page: str) -> dict[str, object]:
    """Return all noted today for the unit on screen, in the words of the API."""
    day = st.session_state.get(_day(page))
    if day is not None and day != dt.datetime.now(tz=dt.UTC).date():
        forget_readings(page, because="Another day began")
    given = answers(page)
    claim = st.session_state.get(claim_key(page))
    found: dict[str, object] = {
        "reading": st.session_state.get(_before(page), ()),
        "after_reading": st.session_state.get(_after(page), ()),
        "met": [part for part, word in given.items() if word == "yes"],
        "not_met": [part for part, word in given.items() if word == "no"],
        "claim": claim,
        "claim_reason": st.session_state.get(reason_key(page)) if claim else None,
        "what_if": st.session_state.get(what_if_key(page)),
        **_repair(page),
    }
    return {name: value for name, value in found.items() if value}


def noted_now(page: str) -> Sequence[str]:
    """Return the readings of the stage in hand: since the repair, once there was one.

    They are as the API words them.
    """
    return tuple(st.session_state.get(_list(page), ()))


def answers(page: str) -> Mapping[str, str]:
    """Return what was answered, yes or no, of what no reading can say."""
    return cast("Mapping[str, str]", st.session_state.get(_answers(page), {}))


def note_answer(page: str, part: str, key: str) -> None:
    """Note the answer chosen in a field; none chosen is not known."""
    kept = {k: word for k, word in answers(page).items() if k != part}
    chosen = st.session_state[key]
    st.session_state[_answers(page)] = kept | ({part: chosen} if chosen else {})


def note_repair(page: str, mode: str, disposition: str) -> None:
    """Note what was repaired, and how: what is noted from now on comes after it."""
    st.session_state[_mended(page)] = {"mended": mode, "disposition": disposition}
    st.session_state[_after(page)] = []
    st.session_state[_day(page)] = dt.datetime.now(tz=dt.UTC).date()


def note_opened(page: str) -> None:
    """Note that the unit was opened again: it no longer counts as proved dead."""
    _note(page, f"{PROVED_DEAD}=not_done")
    st.session_state[_told(page)] = OPENED


def note_outcome(page: str, check: str, outcome: str) -> None:
    """Note that a check passed or failed, at every point, in the state chosen."""
    _note(page, f"{check}{_condition(page, check)}={outcome}")


def note_value(page: str, check: str, unit: str) -> None:
    """Note the value typed, at the point typed; a value not understood stays there."""
    typed = str(st.session_state[value_key(page, check)]).strip().replace(",", ".")
    point = str(st.session_state.get(point_key(page, check)) or "").strip()
    if not typed:
        return
    at = f"@{point}" if point else ""
    reading = f"{check}{at}{_condition(page, check)}={typed}"
    if typed[-1].isdigit():
        reading += unit
    try:
        Intake.of({"reading": [reading]})
    except UsageError as error:
        st.session_state[_told(page)] = error.message
        return
    _note(page, reading)
    st.session_state[value_key(page, check)] = ""
    # The next value is of another point: it is not noted at this one by oversight.
    st.session_state[point_key(page, check)] = None


def take_back(page: str) -> None:
    """Take the last reading back."""
    st.session_state[_list(page)] = list(noted_now(page))[:-1]


def forget_readings(page: str, *, because: str) -> None:
    """Forget all that was noted of the unit; the gate is closed again."""
    named = (_before, _after, _mended, _answers, claim_key, reason_key, what_if_key)
    had = [st.session_state.pop(name(page), None) for name in named]
    st.session_state.pop(_day(page), None)
    if any(had) and because:
        st.session_state[_told(page)] = (
            f"{because}: the checks noted so far no longer count. Prove dead again."
        )


def tell_once(page: str) -> str | None:
    """Return what is to be told about the last note, once."""
    told = st.session_state.pop(_told(page), None)
    return None if told is None else str(told)


def value_key(page: str, check: str) -> str:
    """Return the key of the field for the value of a check."""
    return f"{page}_value_{check}"


def point_key(page: str, check: str) -> str:
    """Return the key of the field for the point of a check."""
    return f"{page}_point_{check}"


def condition_key(page: str, check: str) -> str:
    """Return the key of the field for the state a check was done in."""
    return f"{page}_condition_{check}"


def claim_key(page: str) -> str:
    """Return the key of the field for what is to be said of the whole case."""
    return f"{page}_claim"


def reason_key(page: str) -> str:
    """Return the key of the field for the reason stated."""
    return f"{page}_claim_reason"


def what_if_key(page: str) -> str:
    """Return the key of the field for the check asked about."""
    return f"{page}_what_if"


def _condition(page: str, check: str) -> str:
    chosen = st.session_state.get(condition_key(page, check))
    return f"~{chosen}" if chosen else ""


def _note(page: str, reading: str) -> None:
    st.session_state[_list(page)] = [*noted_now(page), reading]
    st.session_state[_day(page)] = dt.datetime.now(tz=dt.UTC).date()


def _repair(page: str) -> Mapping[str, str]:
    return cast("Mapping[str, str]", st.session_state.get(_mended(page), {}))


def _list(page: str) -> str:
    return _after(page) if _repair(page) else _before(page)


def _before(page: str) -> str:
    return f"{page}_readings_noted"


def _after(page: str) -> str:
    return f"{page}_readings_after"


def _mended(page: str) -> str:
    return f"{page}_readings_repair"


def _answers(page: str) -> str:
    return f"{page}_readings_answers"


def _day(page: str) -> str:
    return f"{page}_readings_day"


def _told(page: str) -> str:
    return f"{page}_told"
