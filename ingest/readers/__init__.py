"""One module per format, each from a file to rows of text cells."""

from collections.abc import Callable
from pathlib import Path

from ingest.errors import FileError
from ingest.readers.csv_file import read_csv
from ingest.readers.json_file import read_json
from ingest.readers.parquet_file import read_parquet
from ingest.readers.source import Source
from ingest.readers.xlsx_file import read_xlsx

READERS: dict[str, Callable[[Path], Source]] = {
    ".csv": read_csv,
    ".tsv": read_csv,
    ".txt": read_csv,
    ".xlsx": read_xlsx,
    ".parquet": read_parquet,
    ".json": read_json,
    ".jsonl": read_json,
    ".ndjson": read_json,
}


def read(path: Path) -> Source:
    """Open a file with the reader of its suffix.

    Raises
    ------
    FileError
        There is no such file, it is empty or broken, or its format is not read.
    """
    reader = READERS.get(path.suffix.lower())
    if reader is None:
        raise FileError(
            f"{path} has the suffix `{path.suffix}`, which is not read.",
            hint=f"Files that are read: {', '.join(READERS)}.",
        )
    try:
        if not path.is_file():
            raise FileError(
                f"There is no file {path}.", hint="Look at the spelling of its name."
            )
        if path.stat().st_size == 0:
            raise FileError(
                f"{path} is empty.",
                hint="Write the file again, with a header at least.",
            )
        return reader(path)
    except OSError as error:
        raise FileError(
            f"{path} cannot be read: {error.strerror or error}.",
            hint="Look at its name and at who may read it.",
        ) from None
