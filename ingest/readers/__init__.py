"""One module per format, each from a file to rows of text cells."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from ingest.errors import FileError
from ingest.readers.csv_file import read_csv
from ingest.readers.json_file import read_json
from ingest.readers.parquet_file import read_parquet
from ingest.readers.source import Source
from ingest.readers.xlsx_file import read_xlsx

T = TypeVar("T")
Reader = Callable[[Path, str | None], tuple[Source, ...]]


def _single(reader: Callable[[Path], Source]) -> Reader:
    # A format without sheets; `sheet` is meant for the workbooks of the same call.
    return lambda path, _sheet: (reader(path),)


def _still_packed(path: Path, _sheet: str | None) -> tuple[Source, ...]:
    raise FileError(
        f"{path} is a packed file inside a packed file.",
        hint="Unpack it, then ingest what is in it.",
    )


READERS: dict[str, Reader] = {
    ".csv": _single(read_csv),
    ".tsv": _single(read_csv),
    ".txt": _single(read_csv),
    ".xlsx": read_xlsx,
    ".parquet": _single(read_parquet),
    ".json": _single(read_json),
    ".jsonl": _single(read_json),
    ".ndjson": _single(read_json),
    # packed.unpacked comes first; what is left of them is packed twice.
    ".gz": _still_packed,
    ".zip": _still_packed,
}


def read(
    path: Path, *, sheet: str | None = None, shown: str | None = None
) -> tuple[Source, ...]:
    """Open a file with the reader of its suffix.

    Parameters
    ----------
    path : pathlib.Path
    sheet : str, optional
        The only sheet to read of a workbook; without it every visible one with rows.
    shown : str, optional
        What messages call the file, where it is an unpacked copy.

    Returns
    -------
    tuple of Source
        One a sheet; of a format without sheets exactly one.

    Raises
    ------
    FileError
        There is no such file, it is empty or broken, or its format is not read.
        Reading its rows may raise it too.
    """
    name = shown or str(path)
    with _told(path, name):
        sources = _opened(path, sheet)
    return tuple(
        replace(
            source,
            rows=_telling(path, name, source.rows),
            blocks=_telling(path, name, source.blocks) if source.blocks else None,
        )
        for source in sources
    )


def _telling(
    path: Path, name: str, read_on: Callable[[], Iterator[T]]
) -> Callable[[], Iterator[T]]:
    def items() -> Iterator[T]:
        with _told(path, name):
            yield from read_on()

    return items


@contextmanager
def _told(path: Path, name: str) -> Iterator[None]:
    try:
        yield
    except FileError as error:
        message = error.message.replace(str(path), name)
        raise FileError(message, hint=error.hint) from error.__cause__
    except OSError as error:
        raise FileError(
            f"{name} cannot be read: {error.strerror or error}.",
            hint="Look at its name and at who may read it.",
        ) from None


def _opened(path: Path, sheet: str | None) -> tuple[Source, ...]:
    reader = READERS.get(path.suffix.lower())
    if reader is None:
        what = f"the suffix `{path.suffix}`, which is not read"
        raise FileError(
            f"{path} has {what if path.suffix else 'no suffix that tells its format'}.",
            hint=f"Files that are read: {', '.join(READERS)}; `.csv.gz` and the like.",
        )
    if not path.is_file():
        raise FileError(
            f"There is no file {path}.", hint="Look at the spelling of its name."
        )
    if path.stat().st_size == 0:
        raise FileError(
            f"{path} is empty.", hint="Write the file again, with a header at least."
        )
    return reader(path, sheet)
