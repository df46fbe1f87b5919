"""From the paths of a call to files that can be read: each with its kind and columns.

A folder stands for the files in it, a packed file for what is packed in it, and a
workbook for the one sheet whose columns fit.
"""

import hashlib
import itertools
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

from ingest import readers
from ingest.corrections import Way, Ways, ways_before
from ingest.errors import FileError, UsageError
from ingest.file_kind import kind_of, known_kind, unknown_columns
from ingest.mapping.apply import Mapping
from ingest.readers.packed import unpacked
from ingest.readers.source import Source
from ingest.records import KINDS, KindSpec


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
    ways : Ways
        Of a correction file whose rows are not all read in one way.
    """

    shown: str
    source: Source
    spec: KindSpec
    mapping: Mapping | None
    field_of: dict[str, str]
    unknown: dict[str, str]
    sha256: str
    ways: Ways = field(default_factory=Ways)

    def has_decimal_comma(self) -> bool:
        """Return whether a number of it may have one."""
        rows = self.ways.of_row.values()
        return self.source.decimal_comma or any(way.decimal_comma for way in rows)


def found(paths: Sequence[Path | str], folder: Path) -> Iterator[Found]:
    """Yield every file that the paths stand for, or why one cannot be had.

    Parameters
    ----------
    paths : sequence of pathlib.Path or str
        A text is told as it was given, `./` and all.
    folder : pathlib.Path
        Takes what is unpacked.
    """
    for number, (given, path) in enumerate(_files(paths)):
        own = folder / str(number)
        own.mkdir()
        if path.is_dir():
            yield Found(given, _no_files(path))
            continue
        try:
            for shown, file in unpacked(path, own):
                yield Found(given + shown.removeprefix(str(path)), file)
        except FileError as error:
            yield Found(given, error)


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
    ways = ways_before(sources, store_file)
    if wanted.mapping:
        ways = ways.with_mapping(wanted.mapping)
    if len(ways.different()) > 1:
        return _opened_in_several_ways(file.shown, sources, wanted, ways, digest)
    for way in ways.different():
        # All of its rows have the columns of files that were read in one way.
        wanted = Wanted(wanted.kind, way.mapping, wanted.sheet)
        if way.decimal_comma:
            sources = tuple(replace(one, decimal_comma=True) for one in sources)
    mapping = wanted.mapping
    columns_of = partial(_fields, mapping=mapping, shown=file.shown)
    source, spec = _fitting(file.shown, sources, wanted.spec(), columns_of)
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


def _opened_in_several_ways(
    shown: str,
    sources: Sequence[Source],
    wanted: Wanted,
    ways: Ways,
    digest: Future[str],
) -> Opened:
    # A column may stand for a field in one way and not in another. Rows that correct
    # none are read with the mapping given, if any.
    different = [Way(wanted.mapping), *ways.different()]

    def columns_of(source: Source) -> list[str]:
        found = (way.field_of(source.columns).values() for way in different)
        constants = (way.mapping.constants for way in different if way.mapping)
        return list(dict.fromkeys(itertools.chain(*found, *constants)))

    kinds = [KINDS[kind] for kind in ways.kinds]
    given = wanted.spec() or (kinds[0] if len(kinds) == 1 else None)
    source, spec = _fitting(shown, sources, given, columns_of)
    field_of = {
        column: name
        for way in different
        for column, name in way.field_of(source.columns).items()
        if name in spec.fields
    }
    left = {c for way in different for c in way.field_of(source.columns)}
    rest = [c for c in source.columns if c in left and c not in field_of]
    return Opened(
        shown=shown,
        source=source,
        spec=spec,
        mapping=wanted.mapping,
        field_of=field_of,
        unknown=unknown_columns(rest, spec),
        sha256=digest.result(),
        ways=ways,
    )


def _files(paths: Sequence[Path | str]) -> Iterator[tuple[str, Path]]:
    for given in paths:
        path = Path(given)
        if not path.is_dir():
            yield str(given), path
            continue
        # Names that start so are a system's or an open spreadsheet's own.
        files = [
            file
            for file in sorted(path.iterdir())
            if file.is_file() and not file.name.startswith((".", "~$"))
        ]
        # An empty folder stands for itself, and is reported like any unusable file.
        for file in files:
            yield os.path.join(given, file.name), file  # noqa: PTH118 - a Path drops `./`
        if not files:
            yield str(given), path


def _no_files(path: Path) -> FileError:
    return FileError(
        f"The folder {path} holds no files.",
        hint="Put the files into it, not into folders below it, or name them.",
    )


def _fitting(
    shown: str,
    sources: Sequence[Source],
    given: KindSpec | None,
    columns_of: Callable[[Source], Sequence[str]],
) -> tuple[Source, KindSpec]:
    fitting, errors = [], []
    for source in sources:
        try:
            kind = kind_of(Path(shown), columns_of(source), given)
            fitting.append((source, kind))
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


def _fields(source: Source, *, mapping: Mapping | None, shown: str) -> tuple[str, ...]:
    if mapping is None:
        return source.columns
    return mapping.fields(source.columns, file=shown)


def _digest(shown: str, path: Path) -> str:
    given = Path(shown)
    path = given if given.is_file() else path
    with path.open("rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest()
