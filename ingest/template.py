"""An empty workbook to record in: a sheet for the rows, and one that explains them.

Drop-down lists, ranges and formats come from the models, by way of the dictionary.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import xlsxwriter
from xlsxwriter.utility import xl_col_to_name, xl_range_abs

from ingest.dictionary import Entry, entries
from ingest.errors import RefusedError, UsageError
from ingest.records import KindSpec
from ingest.template_checks import LISTS, Columns, check_of, units_of_checks

SUFFIX = ".xlsx"
EXPLAINED = "explained"
LAST_ROW = 1_048_575  # of a sheet, counted from 0
DATES = {"day": "yyyy-mm-dd", "time": "yyyy-mm-dd hh:mm"}
NARROWEST, WIDEST = 12, 60
# As text, so that 00012 stays and 1.4 becomes no first of April.
AS_TEXT = "@"
CAUTION = (
    "CAUTION: work on chargers can kill. Qualified persons only; local codes and the "
    "employer's rules come first. Isolate and prove dead before anything is touched; "
    "no live check before every gate check of the unit has passed. This sheet records "
    "readings: it asks for none."
)
ENTRY_HEADINGS = ("name", "needed", "holds", "limits", "meaning")
CODE_HEADINGS = ("of", "code", "label", "definition", "caution")


def write_template(spec: KindSpec, out: Path) -> None:
    """Write an empty workbook for one kind of record.

    Parameters
    ----------
    spec : KindSpec
    out : Path
        The new file.

    Raises
    ------
    UsageError
        It does not end in `.xlsx`, or its folder is not there.
    RefusedError
        There is such a file already.
    """
    if out.suffix.lower() != SUFFIX:
        raise UsageError(
            f"A template is a workbook, not `{out.suffix}`: {out}.",
            hint=f"Give a name that ends in {SUFFIX}.",
        )
    if out.exists():
        raise RefusedError(
            f"{out} is there already, and may hold records.",
            hint="Give another name, or move that file away.",
        )
    if not out.parent.is_dir():
        raise UsageError(
            f"There is no folder {out.parent}.", hint="Make it, or name another one."
        )
    fields = entries(spec)
    with xlsxwriter.Workbook(str(out)) as book:
        sheet = book.add_worksheet(spec.name)
        explained = book.add_worksheet(EXPLAINED)
        lists = book.add_worksheet(LISTS)
        lists.hide()
        columns = _fill_lists(lists, fields)
        _fill_rows(book, sheet, fields, columns)
        _explain(book, explained, spec, fields)


def _fill_lists(lists: Any, fields: Sequence[Entry]) -> Columns:
    letter = {entry.field: xl_col_to_name(place) for place, entry in enumerate(fields)}
    codes: dict[str, str] = {}
    place = 0
    for entry in fields:
        if entry.codes:
            words = [word.code for word in entry.codes]
            lists.write_column(0, place, words)
            codes[entry.field] = _range(place, place, len(words))
            place += 1
    if "check" in letter:
        table = units_of_checks()
        for n, (check, units) in enumerate(table):
            lists.write_row(n, place, [check, units])
        codes["unit"] = _range(place, place + 1, len(table))
    return Columns(letter, codes)


def _range(first: int, last: int, n_rows: int) -> str:
    return f"{LISTS}!{xl_range_abs(0, first, n_rows - 1, last)}"


def _fill_rows(
    book: Any, sheet: Any, fields: Sequence[Entry], columns: Columns
) -> None:
    free = book.add_format({"bold": True, "bottom": 1})
    needed = book.add_format({"bold": True, "bottom": 1, "bg_color": "#FFE699"})
    formats = {kind: book.add_format({"num_format": kind}) for kind in DATES.values()}
    formats[AS_TEXT] = book.add_format({"num_format": AS_TEXT})
    for place, entry in enumerate(fields):
        sheet.write_string(0, place, entry.field, needed if entry.required else free)
        if entry.required:
            sheet.write_comment(0, place, f"Required. {entry.meaning}.")
        kind = _number_format(entry)
        width = max(NARROWEST, len(entry.field) + 2)
        sheet.set_column(place, place, width, formats.get(kind))
        sheet.data_validation(1, place, LAST_ROW, place, check_of(entry, columns))
    # A serial of digits alone is meant as text.
    sheet.ignore_errors({"number_stored_as_text": f"A2:{xl_col_to_name(place)}1048576"})
    sheet.freeze_panes(1, 0)


def _number_format(entry: Entry) -> str:
    if entry.type in DATES:
        return DATES[entry.type]
    return "" if entry.type in ("number", "whole number", "money") else AS_TEXT


def _explain(book: Any, sheet: Any, spec: KindSpec, fields: Sequence[Entry]) -> None:
    bold = book.add_format({"bold": True})
    wrapped = book.add_format({"text_wrap": True, "valign": "top"})
    alert = book.add_format({"bold": True, "font_color": "#C00000"})
    lines: list[tuple[Sequence[str], Any]] = [
        ([f"{spec.name}: {spec.about}"], bold),
        ([f"One row for each {', '.join(spec.key)}. Shaded columns are needed."], None),
        (["An empty cell is not recorded, never zero."], None),
    ]
    if any(word.caution for entry in fields for word in entry.codes):
        lines.insert(0, ([CAUTION], alert))
    lines += [([], None), (ENTRY_HEADINGS, bold)]
    lines += [(_told(entry), wrapped) for entry in fields]
    coded = [(entry, word) for entry in fields for word in entry.codes]
    if coded:
        lines += [([], None), (CODE_HEADINGS, bold)]
    lines += [
        ((entry.field, word.code, word.label, word.definition, word.caution), wrapped)
        for entry, word in coded
    ]
    for row, (cells, form) in enumerate(lines):
        for place, cell in enumerate(cells):
            sheet.write_string(row, place, cell, form)
    for place, width in enumerate((24, 34, 34, WIDEST, WIDEST)):
        sheet.set_column(place, place, width)


def _told(entry: Entry) -> tuple[str, ...]:
    needed = "yes" if entry.required else "no"
    return (entry.field, needed, entry.type, entry.limits(), entry.meaning)
