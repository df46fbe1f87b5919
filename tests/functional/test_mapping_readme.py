"""The mapping printed in the README does what the README says."""

import re
import tomllib
from pathlib import Path

import openpyxl

from ingest.mapping import parse_mapping, suggest_mapping
from ingest.pipeline import ingest_paths
from tests.small_files import asked, counts

README = Path(__file__).parents[2] / "README.md"
ROWS = [
    ["Return no.", "Seriennummer", "Eingang", "Symptome", "Arbeit [h]", "Teilekosten"],
    ["R-1", "MF-100", "05.03.2026", "kein Strom, Griff heiß", 1.5, 12.5],
    ["R-2", "MF-101", "2026-03-31", "handle_hot", 0.25, None],
    ["R-3", "MF-102", "31.03.2026", "k.A.", None, None],
]


def example():
    return re.search(r"```toml\n(.*?)```", README.read_text("utf-8"), re.DOTALL)[1]


def workbook(folder):
    book = openpyxl.Workbook()
    for row in ROWS:
        book.active.append(row)
    book.save(folder / "returns.xlsx")
    return folder / "returns.xlsx"


def test_the_example_takes_in_a_workshop_s_file(tmp_path):
    mapping = parse_mapping(example(), name="mapping.toml")
    report = ingest_paths(
        tmp_path / "store.duckdb", [workbook(tmp_path)], mapping=mapping
    ).files[0]

    assert counts(report) == (3, 3, 0, 0, 0)
    assert asked(
        tmp_path,
        "SELECT case_id, received_on::VARCHAR, symptoms, labour_minutes,"
        " parts_cost::DOUBLE, currency FROM repairs ORDER BY case_id",
    ) == [
        ("R-1", "2026-03-05", "no_power_indication;handle_hot", 90.0, 12.5, "EUR"),
        ("R-2", "2026-03-31", "handle_hot", 15.0, None, "EUR"),
        ("R-3", "2026-03-31", None, None, None, "EUR"),
    ]
    assert asked(tmp_path, "SELECT mapping FROM batches") == [(example(),)]


def test_the_draft_of_that_file_says_what_the_example_says_where_the_file_tells_it(
    tmp_path,
):
    said = tomllib.loads(example())
    drafted = tomllib.loads(suggest_mapping(workbook(tmp_path)))

    # That k.A. means nothing, and the currency, only a person knows.
    del said["codes"]["symptoms"]["k.A."], said["constants"]
    assert drafted == said
