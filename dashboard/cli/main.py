"""The command `mendfleet`.

Results go to stdout, all else to stderr. Exit codes: 0 done, 1 done but rows were set
aside, 2 wrong usage, 3 new alarms (where asked for), 10 file not usable, 11 store
busy, 12 store from a newer version, 13 no store, 14 nothing published, 15 the data
cannot answer, 16 not found or refused.
"""

import sys
import traceback
from pathlib import Path
from typing import Annotated, NoReturn

import typer
from xlsxwriter.exceptions import FileCreateError

from analytics.errors import InsufficientDataError
from dashboard.cli import (
    demo,
    export,
    files,
    recording,
    reports,
    serve,
    suggesting,
    upkeep,
    watching,
)
from dashboard.settings import Place
from ingest.errors import UserError
from ingest.store_errors import explained

CRASHED = 16  # exit code

cli = typer.Typer(
    name="mendfleet",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Count what fails in returned AC chargers, how long they last, and what to "
    "check first.",
)


@cli.callback()
def choose_data(
    context: typer.Context,
    data: Annotated[
        Path,
        typer.Option(
            envvar="MENDFLEET_DATA",
            help="Folder of the store and the published figures.",
        ),
    ] = Path("data"),
) -> None:
    """Choose the data folder; the command follows."""
    source = context.get_parameter_source("data")
    context.obj = Place(data)
    context.meta[demo.DATA_GIVEN] = source is not None and source.name != "DEFAULT"


for module in (
    demo,
    files,
    recording,
    reports,
    suggesting,
    watching,
    export,
    upkeep,
    serve,
):
    module.register(cli)


def main() -> None:
    """Run the command line; errors a person can act on are shown as two lines."""
    try:
        _run()
    except Exception:  # noqa: BLE001 - a crash must not end as "rows were set aside"
        traceback.print_exc()
        typer.echo(
            "error: This is a fault of the program.\n"
            "Report it with the lines above; the store is as it was before.",
            err=True,
        )
        sys.exit(CRASHED)


def _run() -> None:
    try:
        cli()
    except UserError as error:
        _stop(error)
    except (OSError, FileCreateError) as error:
        # The file that a command was to write, of whatever format.
        cause = error if isinstance(error, OSError) else error.args[0]
        meant = explained(cause, Path("The file"))
        if not isinstance(meant, UserError):
            raise
        _stop(meant)
    except InsufficientDataError as error:
        typer.echo(
            f"error: The data cannot answer yet: {error}.\n{error.hint}",
            err=True,
        )
        sys.exit(error.exit_code)


def _stop(error: UserError) -> NoReturn:
    typer.echo(f"error: {error.message}\n{error.hint}", err=True)
    sys.exit(error.exit_code)
