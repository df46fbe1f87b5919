"""Which kind of record a file holds: told from its columns."""

from collections.abc import Sequence
from pathlib import Path

from ingest.batches import CONTROL_COLUMNS
from ingest.cells import nearest
from ingest.errors import FileError, UsageError
from ingest.records import KINDS, KindSpec


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
    fitting = [spec for spec in KINDS.values() if not _missing(columns, spec)]
    if not fitting:
        likeliest = max(KINDS.values(), key=lambda spec: _n_known(columns, spec))
        if not _n_known(columns, likeliest):
            named = ", ".join(f"`{name}`" for name in columns[:8])
            raise FileError(
                f"{path} has no column of a known kind; it has {named}.",
                hint=f"Columns that must be there: {_all_required()}.",
            )
        _demand_columns(path, columns, likeliest)
    most = max(_n_known(columns, spec) for spec in fitting)
    best = [spec for spec in fitting if _n_known(columns, spec) == most]
    if len(best) > 1:
        names = " and ".join(spec.name for spec in best)
        raise FileError(
            f"{path} fits {names} equally well.",
            hint=f"Say which it is: `--kind {best[0].name}`.",
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


def _demand_columns(path: Path, columns: Sequence[str], spec: KindSpec) -> None:
    missing = _missing(columns, spec)
    if not missing:
        return
    likes = [
        f"`{like}` looks like `{name}`"
        for name in missing
        if (like := nearest(name, frozenset(columns) - set(spec.fields)))
    ]
    named = ", ".join(f"`{name}`" for name in missing)
    hint = "Add it, or give a column that name" + (
        f": {'; '.join(likes)}." if likes else "."
    )
    raise FileError(
        f"{path}, read as {spec.name}, lacks the column {named}.", hint=hint
    )


def _missing(columns: Sequence[str], spec: KindSpec) -> list[str]:
    return [name for name in spec.required if name not in columns]


def _n_known(columns: Sequence[str], spec: KindSpec) -> int:
    return len(set(columns) & set(spec.fields))


def _all_required() -> str:
    return "; ".join(f"{s.name}: {', '.join(s.required)}" for s in KINDS.values())
