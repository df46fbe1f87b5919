"""One module per format, each from a file to rows of text cells."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from ingest.errors import FileError
from ingest.readers.csv_file import read_csv
from ingest.readers.json_file import read_json
from ingest.readers.parquet_file import read_parquet
from ingest.readers.source import Source, SourceRow
from ingest.readers.xlsx_file import read_xlsx


def _still_packed(path: Path) -> Source:
    raise FileError(
        f"{path} is a packed file inside a packed file.",
        hint="Unpack it, then ingest what is in it.",
    )


READERS: dict[str, Callable[[Path], Source]] = {
    ".csv": read_csv,
    ".tsv": read_csv,
    ".txt": read_csv,
    ".xlsx": read_xlsx,
    ".parquet": read_parquet,
    ".json": read_json,
    ".jsonl": read_json,
    ".ndjson": read_json,
    # packed.unpacked comes first; what is left of them is packed twice.
    ".gz": _still_packed,
    ".zip": _still_packed,
}


def read(path: Path, *, shown: str | None = None) -> Source:
    """Open a file with the reader of its suffix.

    Parameters
    ----------
    path : pathlib.Path
    shown : str, optional
        What messages call the file, where it is an unpacked copy.

    Raises
    ------
    FileError
        There is no such file, it is empty or broken, or its format is not read.
        Reading its rows may raise it too.
    """
    name = shown or str(path)
    with _told(path, name):
        source = _opened(path)

    def rows() -> Iterator[SourceRow]:
        with _told(path, name):
            yield from source.rows()

    return replace(source, rows=rows)


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


def _opened(path: Path) -> Source:
    reader = READERS.get(path.suffix.lower())
    if reader is None:
        what = f"the suffix `{path.suffix}`, which is not read"
        raise FileError(
            f"{path} has {what if path.suffix else 'no suffix'}.",
            hint=f"Files that are read: {', '.join(READERS)}.",
        )
    if not path.is_file():
        raise FileError(
            f"There is no file {path}.", hint="Look at the spelling of its name."
        )
    if path.stat().st_size == 0:
        raise FileError(
            f"{path} is empty.", hint="Write the file again, with a header at least."
        )
    return reader(path)
