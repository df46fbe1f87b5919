"""Notes and deliveries of alarms: every one is kept, whatever is done to the store."""

import duckdb
import pytest

from ingest.alarms import alarm_notes, mark_sent, recorded_alarms, unsent
from ingest.errors import NotFoundError, UsageError
from ingest.upkeep.backup import backup, restore
from ingest.upkeep.forget import forget
from ingest.upkeep.self_check import self_check
from ingest.upkeep.undo import undo
from tests.small_alarms import (
    COMPONENT,
    MAY,
    NOON,
    SUPPLIER,
    note,
    record,
    store_with_one_alarm,
)
from tests.small_files import ingested, write_csv


@pytest.fixture
def file(tmp_path):
    """Return a store with two units, a case and one alarm."""
    return store_with_one_alarm(tmp_path)


def test_every_note_is_kept_and_the_last_one_stands(file):
    note(file, state="acknowledged", text="  asked the supplier ")
    note(file, state="under_action", text=None)
    note(file, state="closed", text="crimp tool replaced", alarm=SUPPLIER.alarm.upper())

    found = [(one.alarm, one.state, one.text) for one in alarm_notes(file)]

    assert found == [
        (SUPPLIER.alarm, "acknowledged", "asked the supplier"),
        (SUPPLIER.alarm, "under_action", None),
        (SUPPLIER.alarm, "closed", "crimp tool replaced"),
    ]
    assert {one.noted_at for one in alarm_notes(file)} == {NOON}


def test_personal_data_in_a_note_are_masked_unless_the_settings_say_otherwise(file):
    said = "call wanda@example.org, phone +49 30 1234567"

    assert note(file, text=said).text == "call [e-mail], phone [phone]"
    assert note(file, text=said, mask=False).text == said
    assert [one.text for one in alarm_notes(file)] == [
        "call [e-mail], phone [phone]",
        said,
    ]


@pytest.mark.parametrize(
    ("words", "error", "says"),
    [
        ({"state": "close"}, UsageError, "The nearest is closed"),
        ({"state": "closed", "text": "  "}, UsageError, "with a word of what was"),
        ({"text": "x" * 2001}, UsageError, "2001 characters; at most 2000"),
        (
            {"alarm": SUPPLIER.alarm[:-1]},
            NotFoundError,
            f"The nearest is {SUPPLIER.alarm}",
        ),
        ({"alarm": "x"}, NotFoundError, "`mendfleet watch` lists all"),
    ],
)
def test_a_note_that_cannot_be_kept_is_refused_in_words(file, words, error, says):
    with pytest.raises(error, match=says):
        note(file, **words)

    assert alarm_notes(file) == ()


def test_a_note_of_two_thousand_characters_is_kept(file):
    assert note(file, text="x" * 2000).text == "x" * 2000


def test_an_alarm_is_sent_once_to_each_place(file):
    names = [COMPONENT.alarm, SUPPLIER.alarm]
    record(file, [COMPONENT])
    assert unsent(file, names, destination="a") == tuple(names)

    for _ in range(2):
        mark_sent(file, [SUPPLIER.alarm], destination="a", sent_at=NOON)

    assert unsent(file, names, destination="a") == (COMPONENT.alarm,)
    assert unsent(file, names, destination="b") == tuple(names)


def test_what_is_not_recorded_cannot_have_been_sent(file):
    mark_sent(file, [COMPONENT.alarm], destination="a", sent_at=NOON)

    assert unsent(file, [COMPONENT.alarm], destination="a") == (COMPONENT.alarm,)
    assert not any(one.is_fault for one in self_check(file))


def test_a_backup_holds_them_and_puts_them_back(file, tmp_path):
    note(file)
    mark_sent(file, [SUPPLIER.alarm], destination="a", sent_at=NOON)
    before = recorded_alarms(file)
    backup(file, tmp_path / "copy.duckdb")
    record(file, [COMPONENT], through=MAY)
    note(file, state="closed")

    restore(tmp_path / "copy.duckdb", file, replace=True)

    assert recorded_alarms(file) == before
    assert [one.state for one in alarm_notes(file)] == ["acknowledged"]
    assert unsent(file, [SUPPLIER.alarm], destination="a") == ()


def test_taking_files_back_leaves_them_alone(file):
    note(file)
    before = recorded_alarms(file), alarm_notes(file)

    undo(file, 1)
    undo(file, 2)

    assert (recorded_alarms(file), alarm_notes(file)) == before


def test_a_name_forgotten_is_gone_from_notes_too(file):
    note(file, text="Wanda saw ux-777 hum; UX-7771 does not")
    mark_sent(file, [SUPPLIER.alarm], destination="a", sent_at=NOON)
    before = recorded_alarms(file)

    unit = forget(file, "UX-777")
    person = forget(file, "wanda")

    (left,) = alarm_notes(file)
    assert left.text == (
        f"{person.pseudonym} saw {unit.pseudonym} hum; UX-7771 does not"
    )
    assert (left.state, left.noted_at) == ("acknowledged", NOON)
    assert recorded_alarms(file) == before
    assert unsent(file, [SUPPLIER.alarm], destination="a") == ()
    assert b"Wanda" not in file.read_bytes()


def test_a_note_of_an_unknown_alarm_is_a_fault_of_the_store(file):
    note(file)
    assert not any(one.is_fault for one in self_check(file))

    with duckdb.connect(str(file)) as connection:
        connection.execute("DELETE FROM alarms")

    (fault,) = (one for one in self_check(file) if one.is_fault)
    assert (fault.check, fault.n) == ("unknown_alarms", 1)


def test_files_taken_in_afterwards_change_nothing(file, tmp_path):
    note(file)
    before = recorded_alarms(file), alarm_notes(file)

    write_csv(tmp_path, "more.csv", "serial,model\nUX-779,A\n")
    ingested(tmp_path, "serial,model\nUX-779,A\n", name="more.csv")

    assert (recorded_alarms(file), alarm_notes(file)) == before
