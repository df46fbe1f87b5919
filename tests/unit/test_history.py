"""A case and a unit with all their versions, readings and rows set aside."""

import datetime as dt

import pytest

from ingest.errors import NoStoreError, NotFoundError
from ingest.history import case_history, unit_history
from tests.small_files import ingested

HEAD = "case_id,serial,received_on,confirmed_mode\n"


@pytest.fixture
def stored(tmp_path):
    ingested(tmp_path, "serial,model\nU-001,A\n?u-001,A\n")
    ingested(tmp_path, HEAD + "R1,U-001,2025-06-01,\n", name="june.csv")
    ingested(
        tmp_path,
        HEAD + "R1,U-001,2025-06-01,handle_pilot_open\nR0,U-001,2025-05-01,\n"
        "R2,u-001,soon,\n",
        name="july.csv",
    )
    ingested(
        tmp_path,
        "case_id,check,taken_at,stage,value,unit\n"
        "R1,pilot_continuity,2025-06-03,diagnosis,OL,ohm\n"
        "R1,pilot_continuity,2025-06-02,intake,500,mohm\n"
        "R1,pilot_continuity,2025-06-02,intake,high,ohm\n",
        name="readings.csv",
    )
    return tmp_path / "store.duckdb"


def test_the_versions_of_a_case_are_told_oldest_first_with_their_files(stored):
    found = case_history(stored, "R1")

    assert [version.values["confirmed_mode"] for version in found.versions] == [
        None,
        "handle_pilot_open",
    ]
    assert [version.batch for version in found.versions] == [2, 3]
    assert [version.row_no for version in found.versions] == [2, 2]
    assert found.versions[0].file.endswith("june.csv")
    assert isinstance(found.versions[0].taken_in_at, dt.datetime)


def test_the_readings_of_a_case_come_in_the_order_taken(stored):
    found = case_history(stored, "R1")

    assert [
        (reading["stage"], reading["value"], reading["quantity"], reading["bound"])
        for reading in found.readings
    ] == [("intake", "500", 0.5, None), ("diagnosis", "OL", None, "above")]


def test_rows_set_aside_that_name_the_case_are_told_with_it(stored):
    found = case_history(stored, "R1")

    assert [(row.kind, row.problems[0].code) for row in found.problems] == [
        ("readings", "not_a_number")
    ]


def test_a_case_that_was_never_stored_is_not_found(stored):
    with pytest.raises(NotFoundError, match="There is no case R9 in "):
        case_history(stored, "R9")


def test_a_unit_comes_with_its_cases_the_newest_last(stored):
    found = unit_history(stored, " u-001 ")

    assert found.serial == "U-001"
    assert [version.values["model"] for version in found.versions] == ["A"]
    assert [case["case_id"] for case in found.cases] == ["R0", "R1"]
    assert found.cases[1]["confirmed_mode"] == "handle_pilot_open"


def test_rows_set_aside_that_name_the_unit_are_told_with_it(stored):
    found = unit_history(stored, "U-001")

    assert [(row.kind, row.cells["case_id"]) for row in found.problems] == [
        ("repairs", "R2")
    ]


def test_a_unit_known_by_its_cases_alone_has_no_version(tmp_path):
    ingested(tmp_path, HEAD + "R1,U-007,2025-06-01,\n", name="repairs.csv")

    found = unit_history(tmp_path / "store.duckdb", "U-007")

    assert found.versions == ()
    assert [case["case_id"] for case in found.cases] == ["R1"]


def test_a_unit_that_was_never_stored_is_not_found(stored):
    with pytest.raises(NotFoundError, match="There is no unit U-999 in "):
        unit_history(stored, "U-999")


def test_without_a_store_there_is_no_history(tmp_path):
    with pytest.raises(NoStoreError, match="There is no store at"):
        case_history(tmp_path / "store.duckdb", "R1")
