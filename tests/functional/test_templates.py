"""A template lets through what ingest accepts, and nothing beyond the models."""

import datetime as dt
import json

import openpyxl
import pytest
from typer.testing import CliRunner

from dashboard.cli.main import cli
from ingest.dictionary import entries
from ingest.errors import RefusedError, UsageError
from ingest.pipeline import ingest_paths
from ingest.records import KINDS
from ingest.template import CAUTION, write_template
from ingest.template_checks import units_of_checks
from tests.small_rows import ROWS, problems, record

FIRST_DAY, LAST_DAY = dt.date(1900, 3, 1), dt.date(9999, 12, 31)
TELLS_NOTHING = {"none_reported", "clean"}
ALL_FIELDS = [(kind, entry) for kind, spec in KINDS.items() for entry in entries(spec)]
UNITS = dict(units_of_checks())


@pytest.fixture(scope="module")
def books(tmp_path_factory):
    folder = tmp_path_factory.mktemp("templates")
    for kind, spec in KINDS.items():
        write_template(spec, folder / f"{kind}.xlsx")
    return folder


class Checks:
    """The checks of one template, by field."""

    def __init__(self, folder, kind):
        self.book = openpyxl.load_workbook(folder / f"{kind}.xlsx")
        self.sheet = self.book[kind]
        self.fields = [cell.value for cell in self.sheet[1]]
        self.of = {}
        for found in self.sheet.data_validations.dataValidation:
            (place,) = found.sqref.ranges
            assert (place.min_row, place.max_row) == (2, 1_048_576)
            self.of[self.fields[place.min_col - 1]] = found

    def listed(self, field):
        """Return the words of a drop-down list."""
        source = self.of[field].formula1
        if source.startswith('"'):
            return source.strip('"').split(",")
        sheet, place = source.split("!")
        return [row[0].value for row in self.book[sheet][place]]


@pytest.fixture(scope="module")
def checks(books):
    return {kind: Checks(books, kind) for kind in KINDS}


@pytest.mark.parametrize("kind", KINDS)
def test_a_template_has_one_checked_column_for_each_field(checks, kind):
    told = entries(KINDS[kind])

    assert checks[kind].fields == [entry.field for entry in told]
    assert set(checks[kind].of) == set(checks[kind].fields)
    for place, entry in enumerate(told, start=1):
        head = checks[kind].sheet.cell(1, place)
        assert head.font.bold
        assert (head.fill.fill_type == "solid") == entry.required
        assert (head.comment is not None) == entry.required
        check = checks[kind].of[entry.field]
        assert entry.meaning[:100] in check.prompt
        assert check.error


@pytest.mark.parametrize(
    ("kind", "entry"),
    ALL_FIELDS,
    ids=[f"{kind}.{entry.field}" for kind, entry in ALL_FIELDS],
)
def test_a_check_stops_where_the_model_stops(checks, kind, entry):
    check = checks[kind].of[entry.field]
    low, high = check.formula1, check.formula2
    if check.type == "list":
        words = checks[kind].listed(entry.field)
        instead = {"value": None, "outcome": "pass"} if kind == "readings" else {}
        assert all(record(kind, **(instead | {entry.field: word})) for word in words)
        assert words == [w.code for w in entry.codes] or words == ["1", "3"]
        beyond = ["no_such_code"]
    elif check.type in ("whole", "decimal"):
        for within in (low, high):
            assert record(kind, **{entry.field: within})
        beyond = [f"{float(low) - 1:.15g}", f"{float(high) + 1:.15g}"]
    elif check.type == "textLength":
        assert low == "1"
        # A cell of a workbook is shorter than the longest message.
        beyond = ["A" * (int(high) + 1)] if entry.field != "message" else [""]
    elif check.type == "date":
        beyond = ["today"]
        assert record(kind, **{entry.field: FIRST_DAY.isoformat()})
    else:
        assert check.type == "custom"
        assert len(check.formula1) < 255
        beyond = []
    for cell in beyond:
        assert problems(kind, **{entry.field: cell})[0][0] == entry.field


def test_a_field_of_several_codes_has_no_list_that_forbids_them(checks):
    several = [(kind, e) for kind, e in ALL_FIELDS if e.type == "codes"]

    assert len(several) == 5
    for kind, entry in several:
        check = checks[kind].of[entry.field]
        assert check.type == "custom"
        place = check.formula1.split("&")[1]
        sheet, cells = place.split("!")
        words = [row[0].value for row in checks[kind].book[sheet][cells]]
        assert words == [word.code for word in entry.codes]


@pytest.mark.parametrize(
    ("kind", "field", "rule"),
    [
        ("units", "serial", "LEN(A2)>=3,LEN(A2)<=40"),
        ("units", "shipped_on", 'OR(G2="",H2>=G2)'),
        ("units", "manufactured_on", 'OR(H2="",G2<=H2)'),
        ("repairs", "failed_on", 'OR(E2="",D2>E2)'),
        ("repairs", "last_known_good_on", 'OR(D2="",E2<D2)'),
        ("repairs", "received_on", "INT(C2)=C2,C2>=61,C2<=2958465"),
        ("repairs", "parts_cost", "V2>=0,V2<10000000000,ROUND(V2,4)=V2"),
        ("repairs", "symptoms", 'OR(F2="none_reported",ISERROR('),
        ("readings", "value", 'LEN(H2)<=40,OR(H2="OL",'),
        ("readings", "unit", "VLOOKUP(B2,"),
        ("usage", "month", "1*RIGHT(B2,2)>=1,1*RIGHT(B2,2)<=12"),
    ],
)
def test_a_rule_that_no_list_or_range_says_is_a_formula(checks, kind, field, rule):
    assert rule in checks[kind].of[field].formula1


@pytest.mark.parametrize("kind", KINDS)
def test_a_template_holds_no_row(books, tmp_path, kind):
    report = ingest_paths(tmp_path / "store.duckdb", [books / f"{kind}.xlsx"]).files[0]

    assert (report.kind, report.read, report.error) == (kind, 0, None)


def filled(checks, kind, n):
    """Return the cells of one row, each at a limit of its check."""
    row = {}
    for entry in entries(KINDS[kind]):
        row[entry.field] = at_limit(checks, kind, entry, n)
    fixed = SPECIAL.get(kind)
    return row | fixed(row, n) if fixed else row


def at_limit(checks, kind, entry, n):
    check, odd = checks[kind].of[entry.field], n % 2
    if check.type == "list":
        words = checks[kind].listed(entry.field)
        word = words[n % len(words)]
        return int(word) if entry.field == "phases" else word
    if check.type in ("whole", "decimal"):
        limit = float(check.formula2 if odd else check.formula1)
        return int(limit) if limit.is_integer() else limit
    if check.type == "textLength":
        longest = int(check.formula2)
        # Each row has its own key, as long as may be.
        return f"{n:0{longest}}" if odd or entry.field == "case_id" else "A"
    if check.type == "date":
        return dt.datetime.combine(LAST_DAY if odd else FIRST_DAY, dt.time(12, 30))
    return CUSTOM[entry.type](entry, n)


def text_at_limit(entry, n):
    if "serial" in entry.field:
        return f"{n:040}" if n % 2 else f"{n:03}"
    return {"currency": "EUR", "parts_used": "A*1;B-2*99", "unit": None}.get(
        entry.field, ["OL", ">2000", "<0.1", "-.5", "5.", "0" * 40][n % 6]
    )


def codes_at_limit(entry, n):
    told = [word.code for word in entry.codes if word.code not in TELLS_NOTHING]
    alone = [word.code for word in entry.codes if word.code in TELLS_NOTHING]
    return ";".join(told) if n % 2 else (alone or told)[0]


CUSTOM = {
    "day": lambda _, n: LAST_DAY if n % 2 else FIRST_DAY,
    "month": lambda _, n: f"{9999 - n}-12" if n % 2 else f"{n + 1:04}-01",
    "money": lambda _, n: 9999999999.9999 if n % 2 else 0,
    "codes": codes_at_limit,
    "text": text_at_limit,
}


def repair_at_limit(_row, n):
    # Asked about is either in one list or in the other; the failure lies after it
    # was last known good.
    other = "symptoms_denied" if n % 4 < 2 else "symptoms"
    return {other: None, "last_known_good_on": None}


def reading_at_limit(row, n):
    units = UNITS[row["check"]].strip(";").split(";")
    if units == [""]:
        return {"value": None, "outcome": row["outcome"]}
    return {"unit": units[n % len(units)]}


SPECIAL = {
    "repairs": repair_at_limit,
    "readings": reading_at_limit,
    "status": lambda _row, _n: {"message": ROWS["status"]["message"]},
}


@pytest.mark.parametrize("kind", KINDS)
def test_what_a_filled_template_lets_through_is_accepted(books, checks, tmp_path, kind):
    longest = max(len(entry.codes) for entry in entries(KINDS[kind]))
    n_rows = max(4, longest)
    book = openpyxl.load_workbook(books / f"{kind}.xlsx")
    for n in range(n_rows):
        for place, cell in enumerate(filled(checks, kind, n).values(), start=1):
            book[kind].cell(n + 2, place).value = cell
    file = tmp_path / f"{kind}.xlsx"
    book.save(file)

    report = ingest_paths(tmp_path / "store.duckdb", [file]).files[0]

    assert (report.kind, report.read, report.accepted) == (kind, n_rows, n_rows), report


@pytest.mark.parametrize("kind", KINDS)
def test_a_sheet_explains_each_field_and_code(books, kind):
    sheet = openpyxl.load_workbook(books / f"{kind}.xlsx")["explained"]
    rows = [[cell for cell in row if cell] for row in sheet.values]

    for entry in entries(KINDS[kind]):
        needed = "yes" if entry.required else "no"
        limits = [entry.limits()] if entry.limits() else []
        assert [entry.field, needed, entry.type, *limits, entry.meaning] in rows
        for word in entry.codes:
            caution = [word.caution] if word.caution else []
            told = [entry.field, word.code, word.label, word.definition, *caution]
            assert told in rows
    assert (rows[0] == [CAUTION]) == (kind == "readings")


def test_the_codes_are_out_of_the_way(checks):
    assert checks["readings"].book.sheetnames == ["readings", "explained", "codes"]
    assert checks["readings"].book["codes"].sheet_state == "hidden"
    assert checks["readings"].of["check"].formula1.startswith("codes!")
    assert checks["readings"].of["stage"].formula1.startswith('"on_site,')


@pytest.mark.parametrize("kind", KINDS)
def test_text_is_kept_as_text_and_a_day_as_a_day(checks, kind):
    formats = {}
    for found in checks[kind].sheet.column_dimensions.values():
        places = range(found.min, found.max + 1)
        formats |= dict.fromkeys(places, found.number_format)
    wanted = {
        "day": "yyyy-mm-dd", "time": "yyyy-mm-dd hh:mm",
        "number": "General", "whole number": "General", "money": "General",
    }  # fmt: skip
    for place, entry in enumerate(entries(KINDS[kind]), start=1):
        assert formats[place] == wanted.get(entry.type, "@"), entry.field


def test_a_file_that_is_there_is_not_overwritten(tmp_path):
    file = tmp_path / "units.xlsx"
    file.write_text("records of years")

    with pytest.raises(RefusedError, match="is there already"):
        write_template(KINDS["units"], file)

    assert file.read_text() == "records of years"


@pytest.mark.parametrize("name", ["units.csv", "units", "nowhere/units.xlsx"])
def test_a_template_is_a_workbook_in_a_folder_that_is_there(tmp_path, name):
    with pytest.raises(UsageError):
        write_template(KINDS["units"], tmp_path / name)


def test_the_command_writes_a_template(tmp_path):
    out = tmp_path / "readings.xlsx"

    done = CliRunner().invoke(cli, ["template", "readings", "--out", str(out)])

    assert done.exit_code == 0
    assert f"{out}: an empty sheet for readings" in done.stdout
    assert json.dumps(openpyxl.load_workbook(out).sheetnames).startswith('["readings"')
