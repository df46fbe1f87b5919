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
from dashboard.queries import suggest as suggest_query
from dashboard.queries import today as today_query
from dashboard.queries.life_words import LifeWords
from dashboard.queries.suggestion_report import suggestion_report

Several = list[str] | None


def register(cli: typer.Typer) -> None:
    """Add the commands of this module."""
    for command in (today, modes, with_life_words(life), quality):
        cli.command()(with_filters(command))
    for plain_command in (suggest, case, unit):
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


def suggest(
    context: typer.Context,
    *,
    symptom: Annotated[
        Several, typer.Option(help="Symptom reported (code). May be repeated.")
    ] = None,
    not_symptom: Annotated[
        Several, typer.Option(help="Symptom asked about and denied. May be repeated.")
    ] = None,
    text: Annotated[str | None, typer.Option(help="The complaint in words.")] = None,
    finding: Annotated[
        Several,
        typer.Option(help="Finding seen before power is applied. May be repeated."),
    ] = None,
    error_word: Annotated[
        Several, typer.Option(help="Error word of the charger. May be repeated.")
    ] = None,
    model: Annotated[str | None, typer.Option(help="Sales model.")] = None,
    environment: Annotated[str | None, typer.Option(help="Where it stood.")] = None,
    connector: Annotated[str | None, typer.Option(help="type_1 or type_2.")] = None,
    age_days: Annotated[int | None, typer.Option(help="Days in service.")] = None,
    opened_before_arrival: Annotated[
        str | None, typer.Option(help="yes, no or unknown.")
    ] = None,
    serial: Annotated[
        str | None, typer.Option(help="The unit: its record gives windows and points.")
    ] = None,
    reading: Annotated[
        Several,
        typer.Option(
            metavar="CHECK[@POINT][~CONDITION]=VALUE[UNIT]|pass|fail",
            help="A check done so far, with its value or outcome; the condition is "
            "still, flexed, wet, hot or cold. May be repeated.",
        ),
    ] = None,
    as_json: Json = False,
) -> None:
    r"""Suggest the likely fault and the next check from what is known at intake.

    \b
    Example:
        mendfleet suggest --symptom stops_when_cable_moved --reading proved_dead=pass
    """
    intake = suggest_query.Intake.of(
        {
            "symptom": symptom,
            "not_symptom": not_symptom,
            "text": text,
            "finding": finding,
            "error_word": error_word,
            "model": model,
            "environment": environment,
            "connector": connector,
            "age_days": age_days,
            "opened_before_arrival": opened_before_arrival,
            "serial": serial,
            "reading": reading,
        }
    )
    settings = place_of(context).settings()
    answer = suggest_query.suggest(snapshot_of(context), intake, settings=settings)
    if as_json:
        print_json(answer)
    else:
        printing.suggest(answer)


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
