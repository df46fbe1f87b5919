"""Files in: told apart by their columns, checked row by row, stored file by file.

Each file is one transaction: it is stored with a verdict on every row, or not at all.
A file that fails is reported; the others of the same call are still stored.
"""

import datetime as dt
import hashlib
import logging
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, replace
from pathlib import Path

import duckdb

from ingest import readers, store
from ingest.batches import Batch
from ingest.errors import FileError, UserError
from ingest.file_kind import kind_of, known_kind, unknown_columns
from ingest.readers.source import Source, SourceRow
from ingest.records import KINDS, KindSpec
from ingest.report import FileReport, IngestReport
from ingest.validation import validated

__all__ = ["FileReport", "IngestReport", "ingest_paths"]

log = logging.getLogger(__name__)

Progress = Callable[[str, int, int | None], None]

ROWS_PER_TELL = 1000
# Rows judged in one set: large enough that comparing costs little, small enough to
# keep them all in memory.
ROWS_PER_CHUNK = 20_000


@dataclass(frozen=True, slots=True)
class _Opened:
    """A file that can be read, and what it holds."""

    place: int
    path: Path
    source: Source
    spec: KindSpec
    sha256: str


def ingest_paths(
    store_file: Path,
    paths: Sequence[Path],
    *,
    kind: str | None = None,
    complete_through: dt.date | None = None,
    dry_run: bool = False,
    origin: str = "records",
    progress: Progress | None = None,
) -> IngestReport:
    """Check files of units, repairs and readings, and store their rows.

    Parameters
    ----------
    store_file : pathlib.Path
        The store; made if missing.
    paths : sequence of pathlib.Path
        Files; a folder stands for the files in it. Units are taken in before repairs
        and these before readings, whatever the order given.
    kind : {"units", "repairs", "readings"}, optional
        Without it told from the columns of each file.
    complete_through : datetime.date, optional
        Every return up to this day is in the files.
    dry_run : bool, default False
        Report what would happen, and store nothing.
    origin : {"records", "invented"}
        What a new store holds.
    progress : callable, optional
        Called as progress(file, rows_done, rows_total_or_None).

    Returns
    -------
    IngestReport

    Raises
    ------
    UsageError
        `kind` is no kind.
    StoreBusyError, StoreNewerError, RefusedError
        The store cannot be written.
    """
    spec = known_kind(kind) if kind else None
    reports: dict[int, FileReport] = {}
    opened = []
    for place, path in enumerate(_files(paths)):
        try:
            opened.append(_open(place, path, spec))
        except UserError as error:
            reports[place] = FileReport(str(path), error=error)
    if opened:
        tell = progress or (lambda *_: None)
        opened.sort(key=lambda file: list(KINDS).index(file.spec.name))
        with _connection(store_file, origin, dry_run=dry_run) as connection:
            for file in opened:
                reports[file.place] = _ingest(
                    connection, file, complete_through, tell, dry_run=dry_run
                )
    return IngestReport(tuple(reports[place] for place in sorted(reports)))


def _files(paths: Sequence[Path]) -> Iterator[Path]:
    for path in paths:
        if not path.is_dir():
            yield path
            continue
        # Names that start so are a system's or an open spreadsheet's own.
        files = [
            file
            for file in sorted(path.iterdir())
            if file.is_file() and not file.name.startswith((".", "~$"))
        ]
        # An empty folder stands for itself, and is reported like any unusable file.
        yield from files or [path]


def _open(place: int, path: Path, spec: KindSpec | None) -> _Opened:
    if path.is_dir():
        raise FileError(
            f"The folder {path} holds no files.",
            hint="Put the files into it, not into folders below it, or name them.",
        )
    source = readers.read(path)[0]
    found = kind_of(path, source.columns, spec)
    with path.open("rb") as content:
        digest = hashlib.file_digest(content, "sha256").hexdigest()
    return _Opened(place, path, source, found, digest)


@contextmanager
def _connection(
    path: Path, origin: str, *, dry_run: bool
) -> Iterator[duckdb.DuckDBPyConnection]:
    if not dry_run:
        with store.open_for_writing(path, origin=origin) as connection:
            yield connection
        return
    # One transaction over all files: a repair sees the unit of a file before it.
    exists = path.exists()
    opened = store.open_for_writing(path) if exists else store.open_in_memory()
    with opened as connection, store.transaction(connection, keep=False):
        yield connection


def _ingest(
    connection: duckdb.DuckDBPyConnection,
    file: _Opened,
    complete_through: dt.date | None,
    tell: Progress,
    *,
    dry_run: bool,
) -> FileReport:
    inside = nullcontext() if dry_run else store.transaction(connection)
    unknown = unknown_columns(file.source.columns, file.spec)
    report = FileReport(str(file.path), kind=file.spec.name, sha256=file.sha256)
    batch: Batch | None = None
    try:
        with inside:
            batch = Batch(connection, file.spec, str(file.path), file.source.columns)
            _take_in(batch, file, tuple(unknown), tell)
            number = batch.finish(sha256=file.sha256, complete_through=complete_through)
    except FileError as error:
        if dry_run and batch:
            batch.discard()
        return replace(report, error=error)
    outcome = batch.outcome
    log.info("%s: %s", file.path, dict(outcome.counts))
    return replace(
        report,
        batch=None if dry_run else number,
        read=outcome.counts.total(),
        accepted=outcome.counts["accepted"],
        unchanged=outcome.counts["unchanged"],
        replaced=outcome.counts["replaced"],
        rejected=outcome.counts["rejected"],
        problems=outcome.by_field(),
        notices=(*file.source.notices, *unknown.values()),
    )


def _take_in(
    batch: Batch, file: _Opened, unknown: tuple[str, ...], tell: Progress
) -> None:
    label, total = str(file.path), file.source.total
    n_read = 0
    tell(label, n_read, total)
    for row in file.source.rows():
        n_read += 1
        _judge(batch, file.spec, row)
        for name in unknown:
            if name in row.cells:
                batch.outcome.problems[name, "unknown_column"] += 1
        if n_read % ROWS_PER_TELL == 0:
            tell(label, n_read, total)
        if n_read % ROWS_PER_CHUNK == 0:
            batch.judge()
    batch.judge()
    if batch.outcome.counts.total() != n_read:
        # A fault of ours: rather nothing stored than a row lost in silence.
        raise AssertionError(f"{n_read} rows read, {batch.outcome.counts} judged")
    tell(label, n_read, n_read)


def _judge(batch: Batch, spec: KindSpec, row: SourceRow) -> None:
    problems = [row.problem] if row.problem else batch.uncorrected(row)
    found = problems or validated(spec, row.cells)
    if isinstance(found, list):
        batch.reject(row, found)
    else:
        batch.take(row, found)
