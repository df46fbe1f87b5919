"""Notes on an alarm, made on the page and kept in the store."""

import datetime as dt

import pytest
import streamlit as st

from dashboard.queries import alarm_units as units_query
from dashboard.queries import watch as watch_query
from dashboard.queries.watch_notes import note
from dashboard.settings import Place
from ingest import store
from ingest.alarms import AlarmKey, alarm_notes, record_alarms
from tests import small_fleet
from tests import watch_answers as made

KEY = AlarmKey.of("model", "handle_cable_latch", "Model A", dt.date(2025, 12, 1))


@pytest.fixture
def records(tmp_path):
    """Return a folder whose store holds one alarm."""
    place = Place(tmp_path)
    small_fleet.published(
        tmp_path, [small_fleet.unit("A001")], [small_fleet.case("R1", "A001")]
    )
    record_alarms(
        place.store,
        snapshot="2026-01-01-abcdef12",
        published_at=dt.datetime(2026, 1, 2),  # noqa: DTZ001 - UTC, as it is stored
        through=dt.date(2025, 12, 1),
        alarms=[KEY],
    )
    return place


@pytest.fixture
def opened(open_page, snapshot, records, monkeypatch):
    """Return a function that opens the alarm on the page."""

    def shown(**changes):
        answer = made.answer(snapshot, [made.alarm(KEY.alarm, **changes)])
        for module in (watch_query, units_query):
            monkeypatch.setattr(module, "watch", lambda _place, _filters: answer)
        st.cache_data.clear()
        return open_page("watch", of=records, alarm=KEY.alarm)

    yield shown
    st.cache_data.clear()


def send(page, state, said):
    """Fill the form in, and send it."""
    box = next(b for b in page.selectbox if b.key.startswith("watch_state_"))
    box.set_value(state)
    page.text_area[0].set_value(said)
    return page.button(key=submit_key(page)).click().run()


def submit_key(page):
    return next(b.key for b in page.button if b.label == "Keep this note")


def test_a_note_is_kept_told_and_listed_and_the_form_is_empty_again(
    opened, read, records
):
    page = opened()
    assert "Nobody has noted anything yet." in read(page)

    send(page, "under_action", "  crimp tool checked ")

    assert not page.exception
    (kept,) = alarm_notes(records.store)
    assert (kept.alarm, kept.state, kept.text) == (
        KEY.alarm,
        "under_action",
        "crimp tool checked",
    )
    assert page.info[0].value == "Noted: under action."
    assert "**under action**: crimp tool checked" in read(page)
    assert page.text_area[0].value == ""


def test_notes_on_an_alarm_of_the_same_cause_are_listed_with_its_name(
    opened, read, records
):
    other = AlarmKey.of("region", "handle_cable_latch", "North", dt.date(2025, 11, 1))
    record_alarms(
        records.store,
        snapshot="2026-01-01-abcdef12",
        published_at=dt.datetime(2026, 1, 2),  # noqa: DTZ001 - UTC, as it is stored
        through=dt.date(2025, 12, 1),
        alarms=[KEY, other],
    )
    for alarm, said in ((other.alarm, "asked the depot"), (KEY.alarm, "seen here")):
        note(records, alarm, "acknowledged", said)

    shown = read(opened(members=[KEY.alarm, other.alarm]))

    assert f"**acknowledged** (of alarm {other.alarm}): asked the depot" in shown
    assert "**acknowledged**: seen here" in shown
    assert "asked the depot" not in read(opened())


def test_notes_are_listed_newest_first(opened, read):
    page = opened()
    send(page, "acknowledged", "seen")

    send(page, "closed", "tool replaced")

    shown = read(page)
    assert shown.index("tool replaced") < shown.index("**acknowledged**: seen")


def test_an_alarm_closed_without_a_word_stays_and_what_was_typed_too(
    opened, read, records
):
    page = opened()

    send(page, "closed", "")

    assert "closed with a word of what was found or done" in read(page)
    assert alarm_notes(records.store) == ()
    box = next(b for b in page.selectbox if b.key.startswith("watch_state_"))
    assert box.value == "closed"


def test_personal_data_in_a_note_are_masked_and_that_is_told(opened, records):
    page = opened()

    send(page, "acknowledged", "ask ann@example.org")

    assert "Personal data were masked." in page.info[0].value
    assert "example.org" not in alarm_notes(records.store)[0].text


def test_a_note_is_shown_as_typed(opened):
    page = opened()

    send(page, "acknowledged", "![x](http://192.0.2.7/x.png)")

    assert any(r"\!\[x\]" in part.value for part in page.markdown)


def test_the_state_of_the_alarm_is_chosen_at_first(opened):
    page = opened(state="under_action")

    box = next(b for b in page.selectbox if b.key.startswith("watch_state_"))
    assert box.value == "under_action"


def test_an_alarm_that_the_store_does_not_hold_yet_has_no_form(opened, read):
    page = opened(first_seen_on=None)

    assert "The store does not hold this alarm yet" in read(page)
    assert not page.text_area


def test_a_store_that_others_write_is_told_and_nothing_is_lost(
    opened, records, monkeypatch
):
    page = opened()
    monkeypatch.setattr("dashboard.place.WAIT_S", 0)

    with store.open_for_writing(records.store):
        send(page, "acknowledged", "seen by the morning shift")

    assert page.error
    assert page.text_area[0].value == "seen by the morning shift"
    assert alarm_notes(records.store) == ()
