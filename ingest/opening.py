"""From the paths of a call to files that can be read: each with its kind and columns.

A folder stands for the files in it, a packed file for what is packed in it, and a
workbook for the one sheet whose columns fit.
"""

import hashlib
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

from ingest import readers
from ingest.errors import FileError, UsageError
from ingest.file_kind import kind_of, known_kind, unknown_columns
from ingest.mapping.apply import Mapping
from ingest.mapping.mapping_file import parse_mapping
from ingest.quarantine import ways_of_reading
from ingest.readers.packed import unpacked
from ingest.readers.source import Source
from ingest.records import KindSpec
from ingest.set_aside import CONTROL_COLUMNS


@dataclass(frozen=True, slots=True)
class Found:
    """A file that a path of the call stands for.

    Attributes
    ----------
    shown : str
        What reports and messages call it.
    of : pathlib.Path or FileError
        Where its content is, another place if it was unpacked; or why it cannot be
        had.
    """

    shown: str
    of: Path | FileError


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the user said about the files of a call.

    Attributes
    ----------
    kind : str or None
    mapping : Mapping or None
    sheet : str or None
    """

    kind: str | None = None
    mapping: Mapping | None = None
    sheet: str | None = None

    def spec(self) -> KindSpec | None:
        """Return the kind that was named, by the call or by the mapping.

        Raises
        ------
        UsageError
            There is no such kind, or the two name different ones.
        """
        said = self.mapping.kind if self.mapping else None
        if self.kind and said and said != self.kind:
            raise UsageError(
                f"`--kind {self.kind}` does not go with the mapping, which is for"
                f" {said}.",
                hint="Leave `--kind` out, or take another mapping.",
            )
        name = self.kind or said
        return known_kind(name) if name else None


@dataclass(frozen=True, slots=True)
class Opened:
    """A file that can be read, and what it holds.

    Attributes
    ----------
    shown : str
    source : Source
    spec : KindSpec
    mapping : Mapping or None
    field_of : dict of str to str
        The field for each of its columns that stands for one.
    unknown : dict of str to str
        A sentence for each column that stands for none.
    sha256 : str
        Of the file as given; of a file in a `.zip`, of what was packed.
    """

    shown: str
    source: Source
    spec: KindSpec
    mapping: Mapping | None
    field_of: dict[str, str]
    unknown: dict[str, str]
    sha256: str


def found(paths: Sequence[Path], folder: Path) -> Iterator[Found]:
    """Yield every file that the paths stand for, or why one cannot be had.

    Parameters
    ----------
    paths : sequence of pathlib.Path
    folder : pathlib.Path
        Takes what is unpacked.
    """
    for number, path in enumerate(_files(paths)):
        own = folder / str(number)
        own.mkdir()
        if path.is_dir():
            yield Found(str(path), _no_files(path))
            continue
        try:
            yield from (Found(shown, file) for shown, file in unpacked(path, own))
        except FileError as error:
            yield Found(str(path), error)


def open_file(file: Found, wanted: Wanted, store_file: Path) -> Opened:
    """Open a file as far as its columns and find out what it holds.

    Parameters
    ----------
    file : Found
    wanted : Wanted
    store_file : pathlib.Path
        Asked for the mapping with which the rows of a correction file came in.

    Raises
    ------
    FileError
        It cannot be had or read, or is of no or two possible kinds.
    UsageError
        What the user said does not fit together.
    """
    if isinstance(file.of, FileError):
        raise file.of
    sheet = wanted.sheet or (wanted.mapping.sheet if wanted.mapping else None)
    with ThreadPoolExecutor(max_workers=1) as pool:
        # Both read the whole file; neither waits for the other.
        digest = pool.submit(_digest, file.shown, file.of)
        sources = readers.read(file.of, sheet=sheet, shown=file.shown)
    before = _ways_before(sources, store_file)
    mapping = wanted.mapping or _remembered(file.shown, before)
    if mapping is not wanted.mapping:
        wanted = Wanted(wanted.kind, mapping, wanted.sheet)
    source, spec = _fitting(file.shown, sources, wanted)
    if before and all(decimal_comma for _, decimal_comma in before):
        source = replace(source, decimal_comma=True)
    names = _names(source, mapping, file.shown)
    field_of = {c: f for c, f in names.items() if f in spec.fields}
    rest = [column for column in names if column not in field_of]
    return Opened(
        shown=file.shown,
        source=source,
        spec=spec,
        mapping=mapping,
        field_of=field_of,
        unknown=unknown_columns(rest, spec),
        sha256=digest.result(),
    )


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


def _no_files(path: Path) -> FileError:
    return FileError(
        f"The folder {path} holds no files.",
        hint="Put the files into it, not into folders below it, or name them.",
    )


def _fitting(
    shown: str, sources: Sequence[Source], wanted: Wanted
) -> tuple[Source, KindSpec]:
    given = wanted.spec()
    fitting, errors = [], []
    for source in sources:
        try:
            columns = _fields(source, wanted.mapping, shown)
            fitting.append((source, kind_of(Path(shown), columns, given)))
        except FileError as error:
            errors.append((source, error))
    if len(fitting) == 1:
        return fitting[0]
    if len(sources) == 1:
        raise errors[0][1]
    if fitting:
        named = " and ".join(f"`{s.sheet}` ({spec.name})" for s, spec in fitting)
        raise FileError(
            f"{shown} has more than one sheet to read: {named}.",
            hint=f"Name one: `--sheet '{fitting[0][0].sheet}'`; then the next.",
        )
    why = " ".join(f"Sheet `{source.sheet}`: {e.message}" for source, e in errors)
    raise FileError(f"No sheet of {shown} fits. {why}", hint=errors[0][1].hint)


def _names(source: Source, mapping: Mapping | None, shown: str) -> dict[str, str]:
    if mapping is None:
        return {column: column for column in source.columns}
    return mapping.field_names(source.columns, file=shown)


def _fields(source: Source, mapping: Mapping | None, shown: str) -> tuple[str, ...]:
    if mapping is None:
        return source.columns
    return mapping.fields(source.columns, file=shown)


def _ways_before(
    sources: Sequence[Source], store_file: Path
) -> set[tuple[str | None, bool]]:
    # How the rows of a correction file were read when they were set aside.
    name = CONTROL_COLUMNS[1]
    named = [source for source in sources if name in source.columns]
    if not named or not store_file.exists():
        return set()
    cells = (row.cells.get(name) for source in named for row in source.rows())
    return ways_of_reading(store_file, {str(cell) for cell in cells if cell})


def _remembered(shown: str, before: set[tuple[str | None, bool]]) -> Mapping | None:
    # Corrected rows have the columns of the file that they were set aside from.
    if len(before) > 1:
        raise FileError(
            f"{shown} has rows that were read in {len(before)} ways, with different "
            "mappings or with and without decimal commas.",
            hint="Ingest the files of `mendfleet rejected --out FILE` one by one, as "
            "they were written.",
        )
    text = next((mapping for mapping, _ in before), None)
    return parse_mapping(text, name="the mapping of that time") if text else None


def _digest(shown: str, path: Path) -> str:
    given = Path(shown)
    path = given if given.is_file() else path
    with path.open("rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest()
