"""What is kept of alarms: as first seen, with every note and every delivery."""

import datetime as dt

import duckdb
import pytest

from ingest import store
from ingest.alarms import (
    AlarmKey,
    alarm_id,
    alarm_notes,
    mark_sent,
    note_alarm,
    record_alarms,
    recorded,
    recorded_alarms,
    unsent,
)
from ingest.errors import (
    NoStoreError,
    NotFoundError,
    StoreBusyError,
    UsageError,
)
from ingest.migrations import migrate, steps
from ingest.upkeep.backup import backup, restore
from ingest.upkeep.forget import forget
from ingest.upkeep.self_check import self_check
from ingest.upkeep.undo import undo
from tests.small_files import ingested, write_csv

MARCH, APRIL, MAY = (dt.date(2025, month, 1) for month in (3, 4, 5))
SUPPLIER = AlarmKey.of("mode_supplier", "handle_pilot_open", "Ostrel", MARCH)
COMPONENT = AlarmKey.of("component", "handle", None, APRIL)
NOON = dt.datetime(2025, 5, 2, 12, 0)  # noqa: DTZ001 - the store keeps UTC without a zone


@pytest.fixture
def file(tmp_path):
    """Return a store with two units, a case and one alarm."""
    ingested(tmp_path, "serial,model\nUX-777,A\nUX-778,A\n")
    repairs = "case_id,serial,received_on,technician\nR1,UX-777,2025-03-04,Wanda\n"
    ingested(tmp_path, repairs, name="repairs.csv")
    path = tmp_path / "store.duckdb"
    assert record(path, [SUPPLIER]) == 1
    return path


def record(path, alarms, *, snapshot="2025-03-31-aaaaaaaa", through=MARCH, **more):
    at = more.pop("at", NOON)
    return record_alarms(
        path,
        snapshot=snapshot,
        published_at=at,
        through=through,
        alarms=alarms,
        **more,
    )


def note(path, state="acknowledged", text="asked the supplier", **more):
    alarm = more.pop("alarm", SUPPLIER.alarm)
    return note_alarm(path, alarm, state=state, text=text, noted_at=NOON, **more)


def test_an_id_is_the_month_and_five_digits_and_follows_every_part_of_the_key():
    ids = {
        alarm_id("a", "m", "v", MARCH),
        alarm_id("b", "m", "v", MARCH),
        alarm_id("a", "n", "v", MARCH),
        alarm_id("a", "m", "w", MARCH),
        alarm_id("a", "m", None, MARCH),
        alarm_id("a", "m", "None", MARCH),
        alarm_id("a", "mv", "", MARCH),
        alarm_id("a", "m", "v", APRIL),
    }

    assert len(ids) == 8
    assert alarm_id("a", "m", "v", MARCH) == AlarmKey.of("a", "m", "v", MARCH).alarm
    assert {len(name) for name in ids} == {len("2025-03-7f3ac")}
    assert alarm_id("a", "m", "v", MARCH).startswith("2025-03-")


def test_a_look_is_the_first_day_of_a_month():
    with pytest.raises(ValueError, match="first day of a month, got 2025-03-02"):
        alarm_id("a", "m", "v", dt.date(2025, 3, 2))


def test_an_alarm_stays_as_it_was_first_seen(file):
    later = NOON + dt.timedelta(days=30)

    n_new = record(
        file, [SUPPLIER, COMPONENT, COMPONENT], snapshot="later", at=later, through=MAY
    )

    assert n_new == 1
    found = recorded_alarms(file)
    assert [one.key for one in found.alarms] == [SUPPLIER, COMPONENT]
    assert [one.first_snapshot for one in found.alarms] == [
        "2025-03-31-aaaaaaaa",
        "later",
    ]
    assert [one.first_seen_on for one in found.alarms] == [NOON.date(), later.date()]


def test_figures_for_a_past_day_are_no_return_to_it(file):
    record(file, [], through=MAY)
    record(file, [], through=dt.date(2024, 1, 31), first_live=dt.date(2023, 1, 1))

    found = recorded_alarms(file)

    assert found.through == MAY
    assert found.first_live == MARCH


def test_the_month_from_which_alarms_were_raised_is_kept_once(tmp_path):
    ingested(tmp_path, "serial,model\nUX-777,A\n")
    path = tmp_path / "store.duckdb"
    assert recorded_alarms(path).first_live is None
    assert recorded_alarms(path).through is None

    record(path, [], through=dt.date(2025, 5, 31), first_live=dt.date(2024, 6, 15))

    assert recorded_alarms(path).first_live == dt.date(2024, 6, 1)
    assert recorded_alarms(path).through == MAY


def test_publishing_reads_them_from_the_store_it_has_attached(file):
    with duckdb.connect() as connection:
        store.attach_read_only(connection, file)
        found = recorded(connection)

    assert found == recorded_alarms(file)
    assert [one.key for one in found.alarms] == [SUPPLIER]


def test_of_a_broken_record_nothing_is_kept(file):
    broken = AlarmKey("2025-04-00000", "component", None, None, APRIL)

    with pytest.raises(duckdb.ConstraintException):
        record(file, [COMPONENT, broken], through=MAY)

    assert [one.key for one in recorded_alarms(file).alarms] == [SUPPLIER]
    assert recorded_alarms(file).through == MARCH


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


def test_each_store_has_a_watch_of_its_own_name_that_stays(file, tmp_path):
    name = recorded_alarms(file).watch
    record(file, [COMPONENT])
    (tmp_path / "other").mkdir()
    ingested(tmp_path / "other", "serial,model\nUX-777,A\n")
    other = tmp_path / "other" / "store.duckdb"
    assert recorded_alarms(other).watch is None
    record(other, [SUPPLIER])

    assert recorded_alarms(file).watch == name
    assert recorded_alarms(other).watch not in (None, name)


def test_nothing_is_made_where_there_is_no_store(tmp_path):
    path = tmp_path / "none.duckdb"

    for ask in (
        lambda: record(path, []),
        lambda: recorded_alarms(path),
        lambda: note(path),
        lambda: alarm_notes(path),
        lambda: unsent(path, [], destination="a"),
        lambda: mark_sent(path, [], destination="a", sent_at=NOON),
    ):
        with pytest.raises(NoStoreError):
            ask()
    assert list(tmp_path.iterdir()) == []


def test_a_store_that_is_being_written_says_so(file):
    with store.open_for_writing(file):
        for ask in (lambda: record(file, []), lambda: note(file)):
            with pytest.raises(StoreBusyError):
                ask()


def test_a_store_of_an_older_version_is_brought_up_to_date(tmp_path):
    path = tmp_path / "store.duckdb"
    with duckdb.connect(str(path)) as connection:
        migrate(connection, path=path, known=steps()[:2])
        connection.execute("INSERT INTO store_about VALUES ('origin', 'records')")

    assert recorded_alarms(path).alarms == ()
    assert record(path, [SUPPLIER]) == 1


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
