"""The command that writes a table exactly as the pages show it."""

from pathlib import Path
from typing import Annotated

import typer

from dashboard import exports
from dashboard.cli.life_options import with_life_words
from dashboard.cli.options import place_of, with_filters
from dashboard.filters import Filters
from dashboard.queries.life_words import LifeWords
from dashboard.queries.tables import TABLES, table
from ingest.errors import UsageError


def register(cli: typer.Typer) -> None:
    """Add the command of this module."""
    cli.command()(with_filters(with_life_words(export)))


def export(
    words: LifeWords,
    filters: Filters,
    context: typer.Context,
    name: Annotated[
        str, typer.Argument(metavar="TABLE", help=f"One of {', '.join(TABLES)}.")
    ],
    *,
    out: Annotated[
        Path, typer.Option(help="File ending in .csv, .xlsx, .parquet or .json.")
    ],
    alarm: Annotated[
        str | None,
        typer.Option(
            metavar="ID", help="Only this alarm, of the tables that have rows by alarm."
        ),
    ] = None,
    csv_dialect: Annotated[
        str, typer.Option(help="comma, or semicolon with decimal commas.")
    ] = "comma",
) -> None:
    r"""Write a table exactly as the pages show it, each row with where it comes from.

    \b
    Example:
        mendfleet export modes --out modes.csv --component handle
        mendfleet export watch-cases --out cases.csv --alarm 2025-03-7f3ac
    """
    if csv_dialect not in exports.DELIMITERS:
        raise UsageError(
            f"CSV dialect {csv_dialect} is not known.",
            hint=f"Known are {', '.join(exports.DELIMITERS)}.",
        )
    exports.write(
        table(place_of(context), name, filters, words, alarm=alarm),
        out,
        dialect=csv_dialect,
    )
    typer.echo(out)
