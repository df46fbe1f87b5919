"""Files in: told apart by their columns, checked row by row, stored file by file.

Each file is one transaction: it is stored with a verdict on every row, or not at all.
A file that fails is reported; the others of the same call are still stored.
"""

import datetime as dt
import logging
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, field, replace
from pathlib import Path

import duckdb

from ingest import batch_statements, store
from ingest.batches import Batch
from ingest.errors import FileError, UserError
from ingest.mapping.apply import Mapping
from ingest.opening import Opened, Wanted, found, open_file
from ingest.records import KINDS
from ingest.report import FileReport, IngestReport
from ingest.scratch import scratch_folder
from ingest.set_aside import File
from ingest.taking_in import Care, FileRows

__all__ = ["Care", "FileReport", "IngestReport", "ingest_paths"]

log = logging.getLogger(__name__)

Progress = Callable[[str, int, int | None], None]


@dataclass(frozen=True, slots=True)
class _Call:
    """What one call says about all its files."""

    complete_through: dt.date | None
    care: Care
    tell: Progress
    dry_run: bool
    in_blocks: bool


def ingest_paths(
    store_file: Path,
    paths: Sequence[Path | str],
    *,
    kind: str | None = None,
    mapping: Mapping | None = None,
    sheet: str | None = None,
    complete_through: dt.date | None = None,
    dry_run: bool = False,
    origin: str = "records",
    care: Care | None = None,
    in_blocks: bool = True,
    progress: Progress | None = None,
) -> IngestReport:
    """Check files of records, and store their rows.

    Parameters
    ----------
    store_file : pathlib.Path
        The store; made if missing.
    paths : sequence of pathlib.Path or str
        Files; a folder stands for the files in it, a packed file for those in it.
        They are taken in by kind, units first, so that a row finds the unit or case
        it names, whatever the order given.
    kind : str, optional
        One of `ingest.records.KINDS`; without it told from the columns of each file.
    mapping : Mapping, optional
        How the user's columns, dates, units and words become ours.
    sheet : str, optional
        The sheet of a workbook; without it the only one whose columns fit.
    complete_through : datetime.date, optional
        Every return up to this day is in the files.
    dry_run : bool, default False
        Report what would happen, and store nothing.
    origin : {"records", "invented"}
        What a new store holds.
    care : Care, optional
        Masking of personal data (on by default), keeping of unknown columns (off).
    in_blocks : bool, default True
        Judge rows in blocks where that is possible; the outcome is the same.
    progress : callable, optional
        Called as progress(file, rows_done, rows_total_or_None).

    Returns
    -------
    IngestReport

    Raises
    ------
    UsageError
        `kind` is no kind, or is not that of the mapping.
    StoreBusyError, StoreNewerError, RefusedError
        The store cannot be written.
    """
    wanted = Wanted(kind, mapping, sheet)
    wanted.spec()
    tell = progress or (lambda *_: None)
    call = _Call(complete_through, care or Care(), tell, dry_run, in_blocks)
    with scratch_folder() as folder:
        opened = _Files.of(paths, folder, wanted, store_file)
        if opened.usable:
            with _connection(store_file, origin, call, folder) as connection:
                for place, file in opened.usable:
                    opened.reports[place] = _ingest(connection, file, call)
    return IngestReport(tuple(opened.reports[n] for n in sorted(opened.reports)))


@dataclass(slots=True)
class _Files:
    """The files of a call: a report for those that fail, the others in their turn."""

    reports: dict[int, FileReport] = field(default_factory=dict)
    usable: list[tuple[int, Opened]] = field(default_factory=list)

    @classmethod
    def of(
        cls, paths: Sequence[Path | str], folder: Path, wanted: Wanted, store_file: Path
    ) -> "_Files":
        files = cls()
        for place, file in enumerate(found(paths, folder)):
            try:
                opened = open_file(file, wanted, store_file)
            except UserError as error:
                files.reports[place] = FileReport(file.shown, error=error)
            else:
                files.usable.append((place, opened))
        order = list(KINDS)
        files.usable.sort(key=lambda one: order.index(one[1].spec.name))
        return files


@contextmanager
def _connection(
    path: Path, origin: str, call: _Call, folder: Path
) -> Iterator[duckdb.DuckDBPyConnection]:
    if not call.dry_run:
        opened = store.open_for_writing(path, origin=origin)
    elif path.exists():
        opened = store.open_for_writing(path)
    else:
        opened = store.open_in_memory(moved_out_to=folder / "moved out")
    with opened as connection:
        for setting in batch_statements.FLAT_MEMORY:
            connection.execute(setting)
        if not call.dry_run:
            yield connection
            return
        # One transaction over all files: a repair sees the unit of a file before it.
        with store.transaction(connection, keep=False):
            yield connection


def _ingest(
    connection: duckdb.DuckDBPyConnection, file: Opened, call: _Call
) -> FileReport:
    inside = nullcontext() if call.dry_run else store.transaction(connection)
    report = FileReport(file.shown, kind=file.spec.name, sha256=file.sha256)
    about = File(
        file.shown,
        file.source.columns,
        file.field_of,
        mask=call.care.mask,
        read_as=file.ways.read_as,
    )
    batch: Batch | None = None
    try:
        with inside:
            batch = Batch(connection, file.spec, about)
            _take_in(batch, file, call)
            number = batch.finish(
                sha256=file.sha256,
                complete_through=call.complete_through,
                mapping=file.mapping.text if file.mapping else None,
                decimal_comma=file.has_decimal_comma(),
            )
    except FileError as error:
        if call.dry_run and batch:
            batch.discard()
        return replace(report, error=error)
    outcome = batch.outcome
    log.info("%s: %s", file.shown, dict(outcome.counts))
    return replace(
        report,
        batch=None if call.dry_run else number,
        read=outcome.counts.total(),
        accepted=outcome.counts["accepted"],
        unchanged=outcome.counts["unchanged"],
        replaced=outcome.counts["replaced"],
        rejected=outcome.counts["rejected"],
        problems=outcome.by_field(),
        notices=(*file.source.notices, *file.unknown.values()),
    )


def _take_in(batch: Batch, file: Opened, call: _Call) -> None:
    total = file.source.total
    rows = FileRows(file, batch, call.care)
    call.tell(file.shown, 0, total)
    rows.take_in(
        lambda n_read: call.tell(file.shown, n_read, total), in_blocks=call.in_blocks
    )
    if batch.outcome.counts.total() != rows.n_read:
        # A fault of ours: rather nothing stored than a row lost in silence.
        raise AssertionError(f"{rows.n_read} rows read, {batch.outcome.counts} judged")
    call.tell(file.shown, rows.n_read, rows.n_read)
