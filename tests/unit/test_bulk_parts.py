"""Parts of the bulk path: keys seen before, work done ahead, text surely right."""

import numpy as np
import pyarrow as pa
import pytest
from pydantic import StringConstraints

from ingest import keys
from ingest.bulk.ahead import ahead
from ingest.bulk.block import covers
from ingest.bulk.plain_text import PlainText, plain_text
from ingest.keys import SeenKeys
from ingest.records import KINDS
from ingest.taking_in import numeric_fields, with_point
from tests.small_files import counts, ingested


def digests(*numbers):
    return np.array(numbers, dtype=np.uint64)


def test_keys_of_earlier_chunks_and_doubles_in_one_may_have_been_seen():
    seen = SeenKeys()
    assert seen.perhaps(digests(1, 2, 2)).tolist() == [False, True, True]
    seen.add(digests(1, 2, 2))
    seen.add(digests())

    assert seen.perhaps(digests(3, 1, 2**64 - 1)).tolist() == [False, True, False]


def test_many_chunks_of_keys_are_kept_as_one(monkeypatch):
    monkeypatch.setattr(keys, "MOST_RUNS", 2)
    seen = SeenKeys()
    for number in range(7):
        seen.add(digests(number))

    assert seen.perhaps(digests(*range(8))).tolist() == [True] * 7 + [False]


def test_two_keys_with_one_digest_are_still_two_keys(tmp_path, monkeypatch):
    # All digests alike: every row is looked at by its key.
    monkeypatch.setattr(
        SeenKeys, "perhaps", lambda _, digests: np.ones(len(digests), dtype=bool)
    )
    text = "serial,model\nU-001,A\nU-002,A\nU-001,A\nU-002,B\n"

    assert counts(ingested(tmp_path, text)) == (4, 2, 1, 0, 1)


def test_a_row_that_was_stored_before_is_still_the_first_of_its_key(
    tmp_path, monkeypatch
):
    monkeypatch.setattr("ingest.taking_in.ROWS_PER_CHUNK", 1)
    monkeypatch.setattr("ingest.readers.csv_blocks.BIG", 24)
    monkeypatch.setattr("ingest.readers.csv_blocks.SIZES", (24,))
    ingested(tmp_path, "serial,model\nU-001,A\nU-002,A\n")
    text = "serial,model\nU-001,A\nU-002,B\nU-001,C\nU-002,B\nU-002,D\nU-001,A\n"

    report = ingested(tmp_path, text, name="more.csv")

    # U-001 stands as it was, U-002 changes; later rows of other content are set aside.
    assert counts(report) == (6, 0, 3, 1, 2)


def test_what_is_made_ahead_comes_in_order():
    assert list(ahead(range(20))) == list(range(20))
    assert list(ahead([])) == []


def test_an_error_ahead_is_raised_in_its_turn():
    def steps():
        yield 1
        raise ValueError("broken")

    made = ahead(steps())
    assert next(made) == 1
    with pytest.raises(ValueError, match="broken"):
        next(made)


@pytest.mark.parametrize(
    ("cell", "passes"),
    [
        ("ab", True), ("a b", True), ("", False), (None, False), (" ab", False),
        ("ab ", False), ("a\tb", False), ("äb", False), ("abcd", True),
        ("abcde", False), ("a", False), ("~!", True),
    ],
)  # fmt: skip
def test_text_passes_unseen_only_if_nothing_about_it_is_odd(cell, passes):
    asked = PlainText(StringConstraints(min_length=2, max_length=4))
    cells = pa.array(["xx", cell, "yy"], pa.string())

    assert asked.passes(cells, masked=False).tolist() == [True, passes, True]
    assert asked.passes(cells.slice(1), masked=False).tolist() == [passes, True]


def test_text_that_may_name_someone_or_changes_its_case_does_not_pass_unseen():
    cells = pa.array(["a@b", "no 7", "fine"], pa.string())
    asked = PlainText(StringConstraints())
    assert asked.passes(cells, masked=True).tolist() == [False, False, True]

    upper = PlainText(StringConstraints(to_upper=True, pattern="^[A-Za-z]+$"))
    cells = pa.array(["AB", "aB", "A1"], pa.string())
    assert upper.passes(cells, masked=False).tolist() == [True, False, False]
    assert upper.passes(pa.array([], pa.string()), masked=False).tolist() == []


def test_only_fields_that_ask_for_the_shape_of_text_are_plain():
    fields = KINDS["repairs"].model.model_fields
    plain = {name for name, info in fields.items() if plain_text(info)}

    assert plain == {
        "case_id", "serial", "symptom_text", "firmware_version",
        "replaced_by_serial", "currency", "technician",
    }  # fmt: skip


def test_every_kind_but_the_messages_of_chargers_goes_in_blocks():
    assert {name for name, spec in KINDS.items() if not covers(spec)} == {"status"}


@pytest.mark.parametrize(
    ("cell", "read"),
    [
        ("7,5", "7.5"), ("-0,25", "-0.25"), (",5", ".5"), (">2000,5", ">2000.5"),
        ("1,5e3", "1.5e3"), ("1.234,5", "1.234,5"), ("1,234,5", "1,234,5"),
        ("7.5", "7.5"), ("a,b", "a,b"), ("7,", "7,"),
    ],
)  # fmt: skip
def test_a_decimal_comma_becomes_a_point_where_it_can_mean_nothing_else(cell, read):
    assert with_point(cell) == read


def test_numbers_are_told_from_the_models():
    assert numeric_fields(KINDS["repairs"]) == {
        "labour_minutes", "parts_cost", "freight_cost"
    }  # fmt: skip
    assert numeric_fields(KINDS["readings"]) == {
        "sequence", "value", "ambient_c", "minutes"
    }  # fmt: skip
