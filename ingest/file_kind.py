"""Which kind of record a file holds: told from its columns."""

from collections.abc import Sequence
from pathlib import Path

from ingest.cells import nearest
from ingest.errors import FileError, UsageError
from ingest.records import KINDS, KindSpec
from ingest.set_aside import CONTROL_COLUMNS

OWN_NAMES = (
    "Where columns have names of your own, `mendfleet ingest --suggest-mapping FILE`"
    " drafts a mapping."
)


def known_kind(name: str) -> KindSpec:
    """Return the kind of a name.

    Raises
    ------
    UsageError
        There is no such kind.
    """
    if name not in KINDS:
        raise UsageError(
            f"There is no kind `{name}`.", hint=f"Kinds are {', '.join(KINDS)}."
        )
    return KINDS[name]


def kind_of(path: Path, columns: Sequence[str], given: KindSpec | None) -> KindSpec:
    """Return the kind of a file with these columns.

    Parameters
    ----------
    path : pathlib.Path
        Named in messages.
    columns : sequence of str
    given : KindSpec or None
        What the user said it is; its required columns must be there all the same.

    Raises
    ------
    FileError
        A required column is missing, or two kinds fit equally well.
    """
    if given:
        _demand_columns(path, columns, given)
        return given
    most = max(_n_known(columns, spec) for spec in KINDS.values())
    if not most:
        named = ", ".join(f"`{name}`" for name in columns[:8])
        raise FileError(
            f"{path} has no column of a known kind; it has {named}.",
            hint=f"Columns that must be there: {_all_required()}.\n{OWN_NAMES}",
        )
    fitting = [spec for spec in KINDS.values() if not _missing(columns, spec)]
    likeliest = [spec for spec in KINDS.values() if _n_known(columns, spec) == most]
    if not fitting:
        _demand_columns(path, columns, *likeliest)
    best = [spec for spec in fitting if spec in likeliest]
    if not best:
        raise _fits_less(path, columns, fitting, likeliest)
    if len(best) > 1:
        names = " and ".join(spec.name for spec in best)
        raise FileError(
            f"{path} fits {names} equally well.",
            hint=f"Say which it is: {_options(best)}.",
        )
    return best[0]


def unknown_columns(columns: Sequence[str], spec: KindSpec) -> dict[str, str]:
    """Return a sentence for each column that the kind does not have, by its name."""
    fields = frozenset(spec.fields)
    found = {}
    for name in columns:
        if name in fields or name in CONTROL_COLUMNS:
            continue
        like = nearest(name, fields)
        hint = f"the nearest known field is `{like}`" if like else "no field is like it"
        found[name] = f"column `{name}` is not known and is left out; {hint}"
    return found


def _demand_columns(path: Path, columns: Sequence[str], *specs: KindSpec) -> None:
    if any(not _missing(columns, spec) for spec in specs):
        return
    lacking = {spec: _missing(columns, spec) for spec in specs}
    likes = {
        f"`{like}` looks like `{name}`"
        for spec, missing in lacking.items()
        for name in missing
        if (like := nearest(name, frozenset(columns) - set(spec.fields)))
    }
    told = "; ".join(
        f"read as {spec.name}, lacks the {_columns(missing)}"
        for spec, missing in lacking.items()
    )
    n_missing = max(len(missing) for missing in lacking.values())
    these = "them" if n_missing > 1 else "it"
    those = "columns those names" if n_missing > 1 else "a column that name"
    raise FileError(
        f"{path}, {told}.",
        hint=f"Add {these}, or give {those}"
        + (f": {'; '.join(sorted(likes))}." if likes else ".")
        + f"\n{OWN_NAMES}",
    )


def _fits_less(
    path: Path,
    columns: Sequence[str],
    fitting: Sequence[KindSpec],
    likeliest: Sequence[KindSpec],
) -> FileError:
    # More of its columns are of a kind that it lacks a column for: reading it as the
    # other one would leave most of the file out.
    lacks = " or ".join(
        f"{spec.name}, which needs the {_columns(_missing(columns, spec))} too"
        for spec in likeliest
    )
    fits = " and ".join(spec.name for spec in fitting)
    return FileError(
        f"{path} fits {fits}, but more of its columns are of {lacks}.",
        hint=f"Add what is needed, or say what it is: {_options(fitting)}.",
    )


def _columns(names: Sequence[str]) -> str:
    word = "columns" if len(names) > 1 else "column"
    return f"{word} {', '.join(f'`{name}`' for name in names)}"


def _options(specs: Sequence[KindSpec]) -> str:
    return " or ".join(f"`--kind {spec.name}`" for spec in specs)


def _missing(columns: Sequence[str], spec: KindSpec) -> list[str]:
    return [name for name in spec.required if name not in columns]


def _n_known(columns: Sequence[str], spec: KindSpec) -> int:
    return len(set(columns) & set(spec.fields))


def _all_required() -> str:
    return "; ".join(f"{s.name}: {', '.join(s.required)}" for s in KINDS.values())
