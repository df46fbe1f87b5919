"""What is kept of alarms: each as it was first seen, and how far the watch got."""

import datetime as dt

import duckdb
import pytest

from ingest import store
from ingest.alarms import (
    AlarmKey,
    alarm_id,
    alarm_notes,
    mark_sent,
    recorded,
    recorded_alarms,
    unsent,
)
from ingest.errors import NoStoreError, StoreBusyError
from ingest.migrations import migrate, steps
from tests.small_alarms import (
    APRIL,
    COMPONENT,
    MARCH,
    MAY,
    NOON,
    SUPPLIER,
    note,
    record,
    store_with_one_alarm,
)
from tests.small_files import ingested


@pytest.fixture
def file(tmp_path):
    """Return a store with two units, a case and one alarm."""
    return store_with_one_alarm(tmp_path)


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
