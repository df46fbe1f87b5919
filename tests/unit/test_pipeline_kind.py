"""What kind of record a file holds is told from its columns."""

from pathlib import Path

import pytest

from ingest.errors import FileError, UsageError
from ingest.file_kind import kind_of, known_kind, unknown_columns
from ingest.records import KINDS

FILE = Path("rows.csv")


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_with_the_required_columns_of_one_kind_is_of_it(kind):
    assert kind_of(FILE, KINDS[kind].required, None).name == kind


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_with_all_columns_of_a_kind_is_of_it(kind):
    assert kind_of(FILE, KINDS[kind].fields, None).name == kind


def test_of_several_kinds_the_one_with_most_known_columns_wins():
    both = ("serial", "model", "case_id", "received_on", "symptoms")

    assert kind_of(FILE, both, None).name == "repairs"


def test_a_tie_is_refused_with_both_names():
    # serial counts for both: three known columns of each kind.
    both = ("serial", "model", "case_id", "received_on", "site")

    with pytest.raises(FileError, match="fits units and repairs equally well"):
        kind_of(FILE, both, None)


@pytest.mark.parametrize(
    ("columns", "names"),
    [
        (("serial", "model", "month"), "units and usage"),
        (
            ("model", "month", "shipped_month", "quantity"),
            "shipments and planned_sales",
        ),
        (("serial", "month", "received_at", "message", "sessions"), "usage and status"),
    ],
)
def test_the_hint_of_a_tie_says_how_to_choose(columns, names):
    with pytest.raises(FileError, match=f"fits {names} equally well") as caught:
        kind_of(FILE, columns, None)

    options = " or ".join(f"`--kind {name}`" for name in names.split(" and "))
    assert caught.value.hint == f"Say which it is: {options}."


def test_a_file_with_more_columns_of_a_kind_that_it_lacks_one_for_is_refused():
    # Read as units most of the file would be left out without a word.
    columns = ("serial", "model", "received_on", "symptoms", "confirmed_mode")

    with pytest.raises(FileError) as caught:
        kind_of(FILE, columns, None)

    assert caught.value.message == (
        "rows.csv fits units, but more of its columns are of repairs, which needs "
        "the column `case_id` too."
    )
    assert caught.value.hint == (
        "Add what is needed, or say what it is: `--kind units`."
    )
    assert kind_of(FILE, columns, KINDS["units"]).name == "units"


def test_a_file_that_could_be_two_kinds_is_told_what_each_lacks():
    with pytest.raises(FileError) as caught:
        kind_of(FILE, ("model", "region", "quantity", "Month"), None)

    assert caught.value.message == (
        "rows.csv, read as shipments, lacks the column `shipped_month`; "
        "read as planned_sales, lacks the column `month`."
    )
    assert "`Month` looks like `month`" in caught.value.hint


def test_several_missing_columns_are_named_together():
    with pytest.raises(FileError) as caught:
        kind_of(FILE, ("received_at",), None)

    assert caught.value.message == (
        "rows.csv, read as status, lacks the columns `serial`, `message`."
    )
    assert caught.value.hint.startswith("Add them, or give columns those names.")
    assert "--suggest-mapping" in caught.value.hint


def test_a_file_with_names_of_its_own_is_told_how_to_map_them():
    with pytest.raises(FileError) as caught:
        kind_of(FILE, ("Seriennummer", "Eingang"), None)

    assert "`mendfleet ingest --suggest-mapping FILE`" in caught.value.hint


def test_a_kind_that_was_said_needs_its_columns_all_the_same():
    with pytest.raises(FileError, match="read as repairs, lacks the column `case_id`"):
        kind_of(FILE, ("serial", "model", "received_on"), KINDS["repairs"])


def test_a_kind_that_was_said_stands_in_a_tie():
    both = ("serial", "model", "case_id", "received_on", "site")

    assert kind_of(FILE, both, KINDS["units"]).name == "units"


def test_a_missing_column_is_named_with_the_one_that_looks_like_it():
    with pytest.raises(FileError, match="lacks the column `received_on`") as caught:
        kind_of(FILE, ("case_id", "serial", "Received on"), None)

    assert caught.value.hint.startswith(
        "Add it, or give a column that name: `Received on` looks like `received_on`."
    )


def test_columns_of_no_kind_are_shown():
    with pytest.raises(FileError, match="it has `colour`, `weight`"):
        kind_of(FILE, ("colour", "weight"), None)


def test_an_unknown_kind_is_refused_with_the_list_of_kinds():
    with pytest.raises(UsageError, match="There is no kind `chargers`") as caught:
        known_kind("chargers")
    assert caught.value.hint == f"Kinds are {', '.join(KINDS)}."


def test_an_unknown_column_is_named_with_the_nearest_field():
    columns = ("serial", "modle", "xyzzy", "problems", "rejected_row")

    assert unknown_columns(columns, KINDS["units"]) == {
        "modle": "column `modle` is not known and is left out; "
        "the nearest known field is `model`",
        "xyzzy": "column `xyzzy` is not known and is left out; no field is like it",
    }
