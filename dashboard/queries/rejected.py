"""Which rows were set aside, and why: read from the store itself."""

import csv
import io
import zipfile

from dashboard.filters import Filters
from dashboard.queries.answer import Answer
from dashboard.settings import Place
from ingest import store
from ingest.quarantine import correction_parts, correction_table, rejected_rows

METHOD = "Rows set aside and not yet corrected, as the store holds them now."
LATER = (
    1980,
    1,
    1,
    0,
    0,
    0,
)  # the earliest day a zip file can carry: same bytes always


def rejected(place: Place) -> Answer:
    """Return every row set aside and not yet corrected, with all its problems.

    Parameters
    ----------
    place : Place

    Returns
    -------
    Answer
        Rows: rejected_row, kind, file, row_no, problems (`field:code`), messages,
        cells (the user's own columns and texts).

    Raises
    ------
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be read.
    """
    rows = [
        {
            "rejected_row": row.rejected_row,
            "kind": row.kind,
            "file": row.path,
            "row_no": row.row_no,
            "problems": row.codes,
            "messages": "; ".join(f"{p.field}: {p.message}" for p in row.problems),
            "cells": dict(row.cells),
        }
        for row in rejected_rows(place.store, wait_s=place.wait_s)
    ]
    return Answer(
        about=None,
        filters=Filters(),
        method=METHOD,
        rows=rows,
        invented=store.origin(place.store, wait_s=place.wait_s) == "invented",
    )


def correction_file(place: Place) -> tuple[str, bytes]:
    """Return the rows set aside as a file to correct and take in again.

    Returns
    -------
    name : str
    content : bytes
        One CSV file; a zip file of one for each kind if there are several.
    """
    rows = rejected_rows(place.store, wait_s=place.wait_s)
    files = {}
    for name, part in correction_parts(rows).items():
        columns, cells = correction_table(part, part[0].kind)
        text = io.StringIO()
        writer = csv.writer(text, lineterminator="\r\n")
        writer.writerows([columns, *cells])
        files[f"to-correct-{name}.csv"] = text.getvalue().encode("utf-8-sig")
    if len(files) == 1:
        return next(iter(files.items()))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as together:
        for name, content in files.items():
            together.writestr(zipfile.ZipInfo(name, date_time=LATER), content)
    return "to-correct.zip", out.getvalue()
