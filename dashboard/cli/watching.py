"""The commands of the watch: what recurs, and what is being done about it."""

from typing import Annotated

import typer

from dashboard import webhook
from dashboard.cli import printing_watch
from dashboard.cli.options import Json, place_of, print_json, with_filters
from dashboard.filters import Filters
from dashboard.queries import watch as watch_query
from dashboard.queries import watch_notes
from ingest.alarms import STATES, alarm_notes
from ingest.errors import UsageError

NEW_ALARMS = 3  # exit code


def register(cli: typer.Typer) -> None:
    """Add the commands of this module."""
    watching = typer.Typer(invoke_without_command=True, rich_markup_mode=None)
    watching.callback()(with_filters(watch))
    watching.command()(note)
    cli.add_typer(watching, name="watch")


def watch(
    filters: Filters,
    context: typer.Context,
    *,
    new: Annotated[
        bool, typer.Option("--new", help="Only alarms that nobody has noted yet.")
    ] = False,
    exit_code: Annotated[
        bool,
        typer.Option("--exit-code", help="End with 3 if there is a new alarm."),
    ] = False,
    as_json: Json = False,
) -> None:
    r"""Show which failures recur more than they should, the most urgent first.

    With `--new` a webhook named in the settings is told of alarms not sent before.

    \b
    Example:
        mendfleet watch --new --exit-code
        mendfleet watch note 2025-03-7f3ac --state acknowledged
    """
    if context.invoked_subcommand:
        if new or exit_code or as_json or filters.stated():
            raise UsageError(
                "Options of the list stand before "
                f"`{context.invoked_subcommand}`, which has none of them.",
                hint="Leave them out: `mendfleet watch note ALARM --state S`.",
            )
        return
    place = place_of(context)
    if new or exit_code:
        # The list can be shown while the store is busy; what is new cannot be told.
        alarm_notes(place.store, wait_s=place.wait_s)
    answer = watch_query.watch(place, filters, only_new=new)
    if as_json:
        print_json(answer)
    else:
        printing_watch.watch(answer)
    if new and (problem := webhook.send_new(place)):
        typer.echo(problem, err=True)
    if exit_code and any(row["state"] == "new" for row in answer.rows):
        raise typer.Exit(NEW_ALARMS)


def note(
    context: typer.Context,
    alarm: Annotated[str, typer.Argument(help="Its id, as `watch` shows it.")],
    *,
    state: Annotated[str, typer.Option(help=f"{', '.join(STATES)}.")],
    text: Annotated[
        str | None, typer.Option(help="What was found or done; needed to close.")
    ] = None,
) -> None:
    r"""Note what is being done about an alarm; every note is kept, the last one stands.

    \b
    Example:
        mendfleet watch note 2025-03-7f3ac --state closed --text "crimp tool replaced"
    """
    place = place_of(context)
    noted = watch_notes.note(place, alarm, state, text)
    typer.echo(f"{noted.alarm}: {noted.state}")
    if noted.text:
        typer.echo(noted.text)
    if text and noted.text != text.strip():
        typer.echo("Personal data in the note were masked.", err=True)
