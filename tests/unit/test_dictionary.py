"""The data dictionary says of a field what its model does with a cell."""

import json

import pytest
from typer.testing import CliRunner

from dashboard.cli.main import cli
from ingest.cells import known_codes
from ingest.dictionary import entries
from ingest.records import KINDS
from tests.small_rows import problems, record

ENTRIES = [entry for spec in KINDS.values() for entry in entries(spec)]
# In the order in which a person records: what came first first.
REPAIRS = (
    "case_id", "serial", "received_on", "failed_on", "last_known_good_on", "symptoms",
    "symptoms_denied", "symptom_text", "charger_error_codes", "opened_before_arrival",
    "intake_findings", "firmware_version", "confirmed_mode", "mechanism",
    "cause_category", "confirmed_on", "closed_on", "disposition", "replaced_by_serial",
    "labour_minutes", "parts_used", "parts_cost", "freight_cost", "currency",
    "technician",
)  # fmt: skip
READINGS = (
    "case_id", "check", "taken_at", "stage", "point", "condition", "sequence", "value",
    "unit", "outcome", "instrument", "ambient_c", "minutes",
)  # fmt: skip


def named(entry):
    return f"{entry.kind}.{entry.field}"


def of(kind, field):
    return next(entry for entry in entries(KINDS[kind]) if entry.field == field)


@pytest.mark.parametrize("kind", KINDS)
def test_every_field_is_told_once(kind):
    told = [entry.field for entry in entries(KINDS[kind])]

    assert sorted(told) == sorted(KINDS[kind].fields)


@pytest.mark.parametrize(
    ("kind", "order"), [("repairs", REPAIRS), ("readings", READINGS)]
)
def test_fields_come_in_the_order_of_a_file(kind, order):
    assert tuple(entry.field for entry in entries(KINDS[kind])) == order


@pytest.mark.parametrize("entry", ENTRIES, ids=named)
def test_every_field_has_a_meaning(entry):
    assert entry.meaning[0].isupper()
    assert not entry.meaning.endswith(".")


@pytest.mark.parametrize(
    "entry", [e for e in ENTRIES if e.longest and e.type == "text"], ids=named
)
def test_a_longest_text_is_where_the_model_stops(entry):
    beyond = problems(entry.kind, **{entry.field: "A" * (entry.longest + 1)})

    # A text that is no number, part or call is refused for that as well.
    assert (entry.field, "too_long") in beyond or entry.allowed


@pytest.mark.parametrize(
    "entry", [e for e in ENTRIES if e.least is not None], ids=named
)
def test_a_range_is_where_the_model_stops(entry):
    for within in (entry.least, entry.most):
        assert record(entry.kind, **{entry.field: f"{within}"})
    for beyond in (entry.least - 1, entry.most + 1):
        found = problems(entry.kind, **{entry.field: f"{beyond}"})
        assert found == [(entry.field, "out_of_range")]


@pytest.mark.parametrize("entry", [e for e in ENTRIES if e.codes], ids=named)
def test_the_codes_of_a_field_are_those_that_the_model_takes(entry):
    # A check in another unit than that of the row is taken all the same.
    instead = {"value": None, "outcome": "pass"} if entry.kind == "readings" else {}
    for word in entry.codes:
        assert record(entry.kind, **(instead | {entry.field: word.code}))
        assert word.label
        assert word.definition
    found = problems(entry.kind, **{entry.field: "no_such_code"})
    assert found == [(entry.field, "unknown_code")]


def test_the_codes_are_all_of_their_list():
    told = {word.code for word in of("repairs", "confirmed_mode").codes}

    assert told == known_codes("failure_modes")


def test_each_check_carries_its_caution():
    assert all(word.caution for word in of("readings", "check").codes)


@pytest.mark.parametrize(
    ("kind", "field", "limits"),
    [
        ("units", "serial", "3 to 40 of A-Z 0-9 . _ / -"),
        ("units", "phases", "1 or 3"),
        ("units", "cable_length_m", "0 to 50"),
        (
            "units",
            "in_service_on",
            "YYYY-MM-DD; not before shipped_on; not before manufactured_on",
        ),
        ("repairs", "failed_on", "YYYY-MM-DD; after last_known_good_on"),
        ("repairs", "parts_cost", "0 to below 10^10, at most 4 decimal places"),
        ("repairs", "symptoms", "`;` between"),
        ("readings", "sequence", "1 to 1 000 000; empty stands for 1"),
        ("usage", "month", "YYYY-MM"),
    ],
)
def test_limits_are_told_in_words(kind, field, limits):
    assert of(kind, field).limits() == limits


def run(*words):
    done = CliRunner().invoke(cli, ["fields", *words])
    assert done.exit_code == 0, done.output
    return done.stdout


def test_the_command_prints_every_kind():
    shown = run()

    for spec in KINDS.values():
        assert f"{spec.name}: {spec.about}" in shown
        assert f"key: {', '.join(spec.key)}" in shown
    assert "codes of symptoms" not in shown


def test_the_command_prints_the_codes_and_cautions_of_one_kind():
    shown = run("readings")

    assert "units:" not in shown
    assert "codes of check" in shown
    assert "prove the tester before and after; qualified persons only" in shown
    assert "caution" not in run("units")


def test_the_command_gives_the_same_as_json():
    rows = json.loads(run("units", "--json"))["rows"]
    found = next(row for row in rows if row["field"] == "connector")

    assert [row["field"] for row in rows] == [e.field for e in entries(KINDS["units"])]
    assert (found["kind"], found["type"], found["required"]) == ("units", "code", False)
    assert [word["code"] for word in found["codes"]] == ["type_1", "type_2"]
    assert len(json.loads(run("--json"))["rows"]) == len(ENTRIES)
