"""Tables as files: exactly what is shown, each row with where it comes from.

Every row carries the snapshot id, the day the figures speak for, the filters, and
whether the data are invented, so that a line copied elsewhere still says what it is.
"""

import csv
import datetime as dt
import io
import json
from collections.abc import Mapping
from pathlib import Path

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import xlsxwriter

from dashboard.queries.answer import Answer, plain
from ingest.errors import UsageError

SUFFIXES = (".csv", ".xlsx", ".parquet", ".json")
DELIMITERS = {"comma": ",", "semicolon": ";"}
# A spreadsheet must not run a cell of a file as a formula.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def provenance(answer: Answer) -> dict[str, str]:
    """Return where the rows come from, by column name."""
    about = answer.about
    return {
        "snapshot": about.snapshot if about else "",
        "as_of": about.as_of.isoformat() if about else "",
        "filters": _asked_for(answer),
        "data": "invented data" if answer.invented else "records",
    }


def _asked_for(answer: Answer) -> str:
    parts = [answer.filters.sentence()]
    for name, value in answer.asked.items():
        shown = ", ".join(map(str, value)) if isinstance(value, list) else str(value)
        parts.append(f"{name.replace('_', ' ')}: {shown}")
    return "; ".join(part for part in parts if part)


def flat_rows(answer: Answer) -> list[dict[str, object]]:
    """Return the rows as single cells, with the columns of provenance at the end."""
    origin = provenance(answer)
    return [
        {name: _single(value) for name, value in row.items()} | origin
        for row in answer.rows
    ]


def as_csv(answer: Answer, *, dialect: str = "comma") -> bytes:
    """Return the table as CSV in UTF-8 with a byte-order mark.

    Parameters
    ----------
    answer : Answer
    dialect : {"comma", "semicolon"}
        With semicolons, numbers carry a decimal comma, as spreadsheets that use the
        one expect the other.
    """
    rows = flat_rows(answer)
    text = io.StringIO()
    writer = csv.writer(text, delimiter=DELIMITERS[dialect], lineterminator="\r\n")
    writer.writerow(_columns(answer, rows))
    for row in rows:
        writer.writerow(_csv_cell(value, dialect) for value in row.values())
    return text.getvalue().encode("utf-8-sig")


def as_json(answer: Answer) -> bytes:
    """Return the whole answer as one JSON document."""
    document = json.dumps(answer.document(), ensure_ascii=False, indent=2)
    return (document + "\n").encode()


def as_parquet(answer: Answer) -> bytes:
    """Return the table as Parquet; provenance is in the columns and the metadata."""
    rows = flat_rows(answer)
    table = pa.Table.from_pandas(
        pd.DataFrame(rows, columns=_columns(answer, rows)), preserve_index=False
    )
    metadata = {**(table.schema.metadata or {}), **_bytes(provenance(answer))}
    out = io.BytesIO()
    pq.write_table(table.replace_schema_metadata(metadata), out)
    return out.getvalue()


def as_xlsx(answer: Answer) -> bytes:
    """Return the table as a workbook: the rows, and a sheet that says what they are."""
    rows = flat_rows(answer)
    out = io.BytesIO()
    options = {
        "in_memory": True,
        "strings_to_formulas": False,
        "strings_to_urls": False,
    }
    with xlsxwriter.Workbook(out, options) as book:
        book.set_properties({"created": dt.datetime(2000, 1, 1, tzinfo=dt.UTC)})
        bold = book.add_format({"bold": True})
        sheet = book.add_worksheet("table")
        sheet.write_row(0, 0, _columns(answer, rows), bold)
        for number, row in enumerate(rows, start=1):
            sheet.write_row(number, 0, list(row.values()))
        sheet.freeze_panes(1, 0)
        notes = book.add_worksheet("what this is")
        for number, (name, text) in enumerate(
            {**provenance(answer), "method": answer.method}.items()
        ):
            notes.write_row(number, 0, (name, text))
    return out.getvalue()


def write(answer: Answer, out: Path, *, dialect: str = "comma") -> None:
    """Write the table to a file of the kind its name ends in.

    Raises
    ------
    UsageError
        Another ending than .csv, .xlsx, .parquet or .json.
    """
    makers = {".xlsx": as_xlsx, ".parquet": as_parquet, ".json": as_json}
    suffix = out.suffix.lower()
    if suffix not in SUFFIXES:
        raise UsageError(
            f"{out}: a table can be written as {', '.join(SUFFIXES)}.",
            hint="Choose one of these endings.",
        )
    content = (
        as_csv(answer, dialect=dialect) if suffix == ".csv" else makers[suffix](answer)
    )
    out.parent.mkdir(parents=True, exist_ok=True)
    out.write_bytes(content)


def _columns(answer: Answer, rows: list[dict[str, object]]) -> list[str]:
    return list(rows[0]) if rows else list(provenance(answer))


def _single(value: object) -> object:
    simple = plain(value)
    if isinstance(simple, list):
        return "; ".join(str(part) for part in simple)
    return (
        json.dumps(simple, ensure_ascii=False) if isinstance(simple, dict) else simple
    )


def _csv_cell(value: object, dialect: str) -> object:
    if isinstance(value, str) and value.startswith(FORMULA_STARTS):
        return f"'{value}"
    if isinstance(value, float) and dialect == "semicolon":
        return repr(value).replace(".", ",")
    return "" if value is None else value


def _bytes(texts: Mapping[str, str]) -> dict[bytes, bytes]:
    return {name.encode(): text.encode() for name, text in texts.items()}
