"""Each kind fits the table that keeps it, and the kinds are taken in in their order."""

import pytest

from ingest import store
from ingest.records import KINDS
from tests.small_rows import record

BOOKKEEPING = {"batch", "row_no"}


def test_what_others_refer_to_is_taken_in_before_them():
    assert list(KINDS) == [
        "units", "shipments", "planned_sales", "usage", "repairs", "readings", "status",
    ]  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_fills_every_column_of_its_table(kind):
    spec = KINDS[kind]
    with store.open_in_memory() as connection:
        columns = connection.execute(f"DESCRIBE {spec.table}").fetchall()
        view = connection.execute(f"DESCRIBE {spec.name}").fetchall()

    names = [row[0] for row in columns]
    assert set(names) == {*spec.columns, *BOOKKEEPING}
    assert [row[0] for row in view] == names


@pytest.mark.parametrize("kind", KINDS)
def test_values_come_in_the_order_of_the_columns(kind):
    spec = KINDS[kind]
    found = record(kind)
    values = dict(zip(spec.columns, spec.values(found), strict=True))

    assert {name: values[name] for name in spec.fields} == {
        name: getattr(found, name) for name in spec.fields
    }


def test_what_a_status_message_says_follows_it():
    spec = KINDS["status"]

    *_, message_id, action, happened_at, words = spec.values(record("status"))

    assert spec.columns[-4:] == ("message_id", "action", "happened_at", "words")
    assert (message_id, action, words) == ("a1", "StatusNotification", "GroundFailure")
    assert happened_at.isoformat() == "2025-03-04T17:20:12"
