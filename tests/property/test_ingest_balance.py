"""Laws of ingest: no row is lost, and the same file twice changes nothing."""

import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ingest.cells import DAY, NUMBER
from ingest.records import KINDS
from ingest.statements import content_hash
from ingest.validation import validated
from tests.small_files import asked, ingested
from tests.strategies import as_csv, tables

# ruff: noqa: S608 - names come from our own models
VERSIONS = " UNION ALL ".join(
    f"SELECT {content_hash(spec)} || batch AS x FROM {spec.table}"
    for spec in KINDS.values()
)
CONTENT = f"""
SELECT list(x ORDER BY x) FROM (
    {VERSIONS}
    UNION ALL SELECT rejected_row || batch FROM rejected_rows
    UNION ALL SELECT sha256 || batch FROM batches
)
"""
CODES = {
    "missing", "not_text", "too_long", "bad_pattern", "not_a_number", "out_of_range",
    "not_a_date", "unknown_code", "unknown_unit", "date_order", "currency_missing",
    "malformed_message",
}  # fmt: skip
# A real store for each example: few of them, with many rows.
few = settings(max_examples=25, deadline=None)


@few
@given(tables(), st.sampled_from(",;\t"))
def test_every_row_is_accepted_unchanged_replaced_or_rejected(table, delimiter):
    with tempfile.TemporaryDirectory() as name:
        report = ingested(Path(name), as_csv(table, delimiter))

    recorded = [
        row for row in table if any(c and not c.isspace() for c in row.values())
    ]
    assert report.read == len(recorded)
    assert report.read == (
        report.accepted + report.unchanged + report.replaced + report.rejected
    )


@few
@given(tables())
def test_the_same_file_a_second_time_changes_nothing(table):
    with tempfile.TemporaryDirectory() as name:
        folder, text = Path(name), as_csv(table)
        first = ingested(folder, text)
        before = asked(folder, CONTENT)

        second = ingested(folder, text)

        assert asked(folder, CONTENT) == before
    assert (second.accepted, second.replaced) == (0, 0)
    assert (second.read, second.rejected) == (first.read, first.rejected)


@few
@given(tables(), st.randoms(use_true_random=False))
def test_rows_of_different_keys_may_come_in_any_order(table, random):
    kind = next(k for k, spec in KINDS.items() if set(spec.required) <= set(table[0]))
    by_key = {}
    for row in table:
        key = tuple(row.get(name, "").strip().upper() for name in KINDS[kind].key)
        by_key.setdefault(key, row)
    rows = list(by_key.values())
    shuffled = random.sample(rows, len(rows))

    kept = []
    for some in (rows, shuffled):
        with tempfile.TemporaryDirectory() as name:
            ingested(Path(name), as_csv(some))
            kept.append(asked(Path(name), CONTENT.replace("sha256", "kind")))

    assert kept[0] == kept[1]


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=12), st.sampled_from(["cable_length_m", "shipped_on"]))
def test_a_cell_of_any_text_is_a_value_or_a_problem_and_never_a_guess(cell, field):
    row = {"serial": "U-001", "model": "A", field: cell}

    found = validated(KINDS["units"], row)

    pattern = NUMBER if field == "cable_length_m" else DAY
    if not isinstance(found, list):
        assert pattern.fullmatch(cell.strip())
    else:
        assert [problem.field for problem in found] == [field]


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=100, deadline=None)
@given(data=st.data())
def test_hostile_cells_raise_nothing_and_name_only_known_codes(kind, data):
    cells = st.one_of(st.text(max_size=30), st.booleans())
    names = st.sampled_from(KINDS[kind].fields)
    row = data.draw(st.dictionaries(names, cells, max_size=8))

    found = validated(KINDS[kind], row)

    if isinstance(found, list):
        assert {problem.code for problem in found} <= CODES
    else:
        assert not any(isinstance(value, bool) for value in vars(found).values())
