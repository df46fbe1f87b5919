"""Report commands about the published figures: one question each."""

from typing import Annotated

import typer

from dashboard.cli import (
    printing,
    printing_life,
    printing_modes,
    printing_suggestions,
    printing_today,
)
from dashboard.cli.life_options import with_life_words
from dashboard.cli.options import (
    Json,
    place_of,
    print_json,
    snapshot_of,
    with_filters,
)
from dashboard.filters import Filters
from dashboard.queries import history
from dashboard.queries import life as life_query
from dashboard.queries import modes as modes_query
from dashboard.queries import quality as quality_query
from dashboard.queries import today as today_query
from dashboard.queries.life_words import LifeWords
from dashboard.queries.suggestion_report import suggestion_report


def register(cli: typer.Typer) -> None:
    """Add the commands of this module."""
    for command in (today, modes, with_life_words(life), quality):
        cli.command()(with_filters(command))
    for plain_command in (case, unit):
        cli.command()(plain_command)


def today(filters: Filters, context: typer.Context, *, as_json: Json = False) -> None:
    r"""Show critical cases, open work by age, and what changed since the last publish.

    \b
    Example:
        mendfleet today --region Harbour
    """
    answer = today_query.today(place_of(context), filters)
    if as_json:
        print_json(answer)
    else:
        printing_today.today(answer)


def modes(filters: Filters, context: typer.Context, *, as_json: Json = False) -> None:
    r"""Show which failure modes were confirmed, and how often.

    \b
    Example:
        mendfleet modes --component handle --from 2026-01-01
    """
    answer = modes_query.modes(snapshot_of(context), filters)
    if as_json:
        print_json(answer)
    else:
        printing_modes.modes(answer)


def life(
    words: LifeWords, filters: Filters, context: typer.Context, *, as_json: Json = False
) -> None:
    r"""Show how long units last before their first confirmed failure.

    \b
    Example:
        mendfleet life --mode handle_pilot_open --by cable_supplier
    """
    answer = life_query.life(snapshot_of(context), filters, **words.asked())
    if as_json:
        print_json(answer)
    else:
        printing_life.life(answer)


def quality(
    filters: Filters,
    context: typer.Context,
    *,
    suggestions: Annotated[
        bool,
        typer.Option(
            "--suggestions", help="How good the suggestions are; without filters."
        ),
    ] = False,
    as_json: Json = False,
) -> None:
    r"""Show what happened to the rows of every file, and what is left out.

    \b
    Example:
        mendfleet quality
        mendfleet quality --suggestions
    """
    if suggestions:
        _suggestions(filters, context, as_json=as_json)
        return
    answer = quality_query.quality(snapshot_of(context), filters)
    if as_json:
        print_json(answer)
    else:
        printing.quality(answer)


def _suggestions(filters: Filters, context: typer.Context, *, as_json: bool) -> None:
    answer = suggestion_report(snapshot_of(context), filters)
    if as_json:
        print_json(answer)
    else:
        printing_suggestions.suggestions(answer)


def case(
    context: typer.Context,
    case_id: Annotated[str, typer.Argument(help="The workshop's own number.")],
    *,
    as_json: Json = False,
) -> None:
    r"""Show one return with its readings and earlier versions.

    \b
    Example:
        mendfleet case R-00012
    """
    answer = history.case(place_of(context), case_id)
    if as_json:
        print_json(answer)
    else:
        printing.record(answer)


def unit(
    context: typer.Context,
    serial: Annotated[str, typer.Argument(help="Serial number.")],
    *,
    as_json: Json = False,
) -> None:
    r"""Show one unit with its returns and earlier versions.

    \b
    Example:
        mendfleet unit AX1-000123
    """
    answer = history.unit(place_of(context), serial)
    if as_json:
        print_json(answer)
    else:
        printing.record(answer)
