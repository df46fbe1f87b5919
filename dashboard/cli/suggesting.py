"""The command of the bench: what a return is likely to have, and what to check."""

import inspect
from collections.abc import Callable
from typing import Annotated, Concatenate, ParamSpec

import typer

from dashboard.cli import printing_suggest
from dashboard.cli.like_cases import like
from dashboard.cli.options import Json, place_of, print_json, snapshot_of, with_options
from dashboard.queries import suggest as suggest_query
from dashboard.queries.suggest import Intake

P = ParamSpec("P")

Several = list[str] | None
Word = str | None
AGAIN = "May be repeated."
FORM = "CHECK[@POINT][~CONDITION]=VALUE[UNIT]|pass|fail"
KINDS: dict[str, tuple[object, str, str | None]] = {
    "symptom": (Several, f"Symptom reported (code). {AGAIN}", None),
    "not_symptom": (Several, f"Symptom asked about and denied. {AGAIN}", None),
    "text": (Word, "The complaint in words.", None),
    "finding": (Several, f"Finding seen before power is applied. {AGAIN}", None),
    "error_word": (Several, f"Error word of the charger. {AGAIN}", None),
    "model": (Word, "Sales model.", None),
    "environment": (Word, "Where it stood.", None),
    "connector": (Word, "type_1 or type_2.", None),
    "age_days": (int | None, "Days in service.", None),
    "opened_before_arrival": (Word, "yes, no or unknown.", None),
    "serial": (Word, "The unit: its record gives windows and points.", None),
    "current_setting_a": (
        float | None,
        "Current the unit is set to (A): gives the window of the duty cycle.",
        None,
    ),
    "reading": (
        Several,
        f"A check done so far; conditions: still, flexed, wet, hot, cold. {AGAIN}",
        FORM,
    ),
    "met": (
        Several,
        f"What a verdict asks and no reading can say, in its words: it is so. {AGAIN}",
        None,
    ),
    "not_met": (Several, f"As --met: it is not so. {AGAIN}", None),
    "mended": (
        Word,
        "The mode that was repaired (code); what must pass is told.",
        None,
    ),
    "disposition": (Word, "What was done with the unit (code), with --mended.", None),
    "after_reading": (Several, f"A check done after the repair. {AGAIN}", FORM),
    "claim": (
        Word,
        "no_fault_found or vehicle_side_fault: what the protocol still asks.",
        None,
    ),
    "claim_reason": (Word, "Why it is said without the protocol.", None),
    "what_if": (Word, "A check on offer (code): what each outcome would mean.", None),
}


def register(cli: typer.Typer) -> None:
    """Add the commands about one return."""
    cli.command()(_with_intake(suggest))
    cli.command()(_with_intake(like))


def suggest(intake: Intake, context: typer.Context, *, as_json: Json = False) -> None:
    r"""Suggest the likely fault and the next check from what is known at intake.

    \b
    Example:
        mendfleet suggest --symptom stops_when_cable_moved --reading proved_dead=pass
    """
    settings = place_of(context).settings()
    answer = suggest_query.suggest(snapshot_of(context), intake, settings=settings)
    if as_json:
        print_json(answer)
    else:
        printing_suggest.suggest(answer)


def _with_intake(
    command: Callable[Concatenate[Intake, P], None],
) -> Callable[P, None]:
    return with_options(command, "intake", _parameters(), Intake.of)


def _parameters() -> list[inspect.Parameter]:
    return [
        inspect.Parameter(
            name,
            inspect.Parameter.KEYWORD_ONLY,
            default=None,
            annotation=Annotated[
                kind,
                typer.Option(f"--{name.replace('_', '-')}", help=words, metavar=form),
            ],
        )
        for name, (kind, words, form) in KINDS.items()
    ]
