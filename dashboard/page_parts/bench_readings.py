"""Checks noted on the bench: held for the one unit on screen, never stored.

They live in the session alone. They end with a reload, another unit or another day:
nothing that was proved dead then says anything now.
"""

import datetime as dt
from collections.abc import Sequence

import streamlit as st

from dashboard.queries.intake import Intake
from ingest.errors import UsageError


def noted_readings(page: str) -> Sequence[str]:
    """Return the readings noted today for the unit on screen, as the API words them."""
    day = st.session_state.get(_day(page))
    if day is not None and day != dt.datetime.now(tz=dt.UTC).date():
        forget_readings(page, because="Another day began")
    return tuple(st.session_state.get(_list(page), ()))


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
    st.session_state[_list(page)] = list(noted_readings(page))[:-1]


def forget_readings(page: str, *, because: str) -> None:
    """Forget every reading; the gate is closed again."""
    had_some = st.session_state.pop(_list(page), None)
    st.session_state.pop(_day(page), None)
    if had_some and because:
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


def _condition(page: str, check: str) -> str:
    chosen = st.session_state.get(condition_key(page, check))
    return f"~{chosen}" if chosen else ""


def _note(page: str, reading: str) -> None:
    st.session_state[_list(page)] = [*noted_readings(page), reading]
    st.session_state[_day(page)] = dt.datetime.now(tz=dt.UTC).date()


def _list(page: str) -> str:
    return f"{page}_readings_noted"


def _day(page: str) -> str:
    return f"{page}_readings_day"


def _told(page: str) -> str:
    return f"{page}_told"
