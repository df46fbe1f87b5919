"""Commands that look after the store: undo, forget, backup, restore, self-check."""

from pathlib import Path
from typing import Annotated, cast

import typer

from dashboard import text
from dashboard.cli.options import Json, heading, place_of, print_json
from dashboard.cli.progress import progress_bar
from dashboard.queries.forget import forget as forget_everywhere
from dashboard.queries.self_check import self_check as checked
from ingest.errors import RefusedError
from ingest.upkeep.backup import Manifest
from ingest.upkeep.backup import backup as write_backup
from ingest.upkeep.backup import restore as put_back
from ingest.upkeep.undo import undo as take_back

PUBLISH_AGAIN = "Figures published before still count it: run `mendfleet publish`."


def register(cli: typer.Typer) -> None:
    """Add the commands of this module."""
    for command in (undo, forget, backup, restore):
        cli.command()(command)
    cli.command("self-check")(self_check)


def undo(
    context: typer.Context,
    batch: Annotated[int, typer.Argument(help="Its number, as `ingest --json` says.")],
) -> None:
    r"""Take one ingest back; older versions of its rows stand again.

    \b
    Example:
        mendfleet undo 12
    """
    done = take_back(place_of(context).store, batch)
    typer.echo(
        f"Batch {done.batch} ({done.kind}, {done.file}) is taken back.\n"
        f"rows removed: {text.count(done.n_removed)}\n"
        f"rows kept, as a later file brought them too: {text.count(done.n_kept)}\n"
        f"rows set aside, removed: {text.count(done.n_set_aside_removed)}\n"
        f"rows set aside that wait again: {text.count(done.n_waiting_again)}"
    )
    typer.echo(PUBLISH_AGAIN, err=True)


def forget(
    context: typer.Context,
    name: Annotated[str, typer.Argument(help="Serial or technician.")],
    *,
    kind: Annotated[
        str | None,
        typer.Option("--as", help="serial or technician, where the name is both."),
    ] = None,
) -> None:
    r"""Put a random name in the place of a serial or technician, everywhere.

    \b
    Example:
        mendfleet forget T07
    """
    with progress_bar() as tell:
        done = forget_everywhere(place_of(context), name, kind=kind, progress=tell)
    typer.echo(
        f"The {done.report.kind} is {done.report.pseudonym} now; rows of the store "
        f"changed: {text.count(done.report.n_rows)}."
    )
    if done.snapshot:
        typer.echo(f"Figures published anew: {done.snapshot}")
    typer.echo(
        f"Published files deleted: {text.count(done.n_withdrawn)}. Files outside are "
        "not touched: the files you took in, exports and backups; taking an old file "
        "in again brings the name back. Start a running `mendfleet serve` anew: it "
        "keeps answers in memory.",
        err=True,
    )
    if done.error:
        raise done.error


def backup(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(help="A new file.")],
) -> None:
    r"""Write the whole store to one file, and check that it holds the same.

    \b
    Example:
        mendfleet backup store-2026-06-30.duckdb
    """
    _print(write_backup(place_of(context).store, file), f"{file} holds")


def restore(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(help="Written by `mendfleet backup`.")],
    *,
    replace: Annotated[
        bool, typer.Option("--replace", help="Take the place of the store there is.")
    ] = False,
) -> None:
    r"""Put a backup in the place of the store, after checking all of it.

    \b
    Example:
        mendfleet restore store-2026-06-30.duckdb --replace
    """
    place = place_of(context)
    _print(put_back(file, place.store, replace=replace), f"{place.store} holds")
    typer.echo("Run `mendfleet publish` for figures that rest on it.", err=True)


def self_check(context: typer.Context, *, as_json: Json = False) -> None:
    r"""Look over the store and the figures shown; 16 if there is a fault.

    \b
    Example:
        mendfleet self-check
    """
    answer = checked(place_of(context))
    if as_json:
        print_json(answer)
    else:
        typer.echo(heading(answer, "Is the store whole?"))
        rows = [
            row | {"state": "FAULT" if row["is_fault"] else "ok"} for row in answer.rows
        ]
        typer.echo(text.table(rows, {"state": "", "check": "check", "message": ""}))
    if n := cast("int", answer.more["n_faults"]):
        raise RefusedError(
            f"Faults found: {text.count(n)}.",
            hint="A damaged store comes back from a backup, `mendfleet restore FILE "
            "--replace`; figures are made again by `mendfleet publish`.",
        )


def _print(manifest: Manifest, holds: str) -> None:
    n_rows = sum(table.n_rows for table in manifest.tables.values())
    typer.echo(
        f"{holds} {text.count(n_rows)} rows in {len(manifest.tables)} tables, as of "
        f"{manifest.made_at:%Y-%m-%d %H:%M} UTC; checked."
    )
