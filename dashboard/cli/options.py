"""Options every report command shares: the filters, and `--json`."""

import datetime as dt
import functools
import inspect
import json
from collections.abc import Callable, Sequence
from typing import Annotated, Concatenate, ParamSpec, TypeVar

import typer

from analytics.rollup.snapshot import Snapshot, current_snapshot
from dashboard.filters import Filters
from dashboard.queries.answer import Answer
from dashboard.settings import Place

P = ParamSpec("P")
T = TypeVar("T")

HELP = {
    "model": "Sales model.",
    "lot": "Production lot.",
    "opened_before_arrival": "Opened before arrival: yes, no or unknown.",
    "mode": "Failure mode (code).",
    "from_": "First day: received on (cases), in service since (units).",
    "to": "Last day, included.",
}

Json = Annotated[bool, typer.Option("--json", help="One JSON document instead.")]


def place_of(context: typer.Context) -> Place:
    """Return the data folder named before the command."""
    place = context.find_object(Place)
    if place is None:  # our own mistake: the callback always sets it
        raise RuntimeError("the command was called without its data folder")
    return place


def snapshot_of(context: typer.Context) -> Snapshot:
    """Return the newest published snapshot of the data folder."""
    return current_snapshot(place_of(context).published)


def with_options(
    command: Callable[Concatenate[T, P], None],
    name: str,
    options: Sequence[inspect.Parameter],
    made: Callable[[dict[str, object]], T],
) -> Callable[P, None]:
    """Give a command shared options, and hand them in as one value.

    Parameters
    ----------
    command : callable
        Takes the value first.
    name : str
        Of that first argument.
    options : sequence of inspect.Parameter
        As the command line shows them.
    made : callable
        Makes the value of the words typed, by option.
    """

    @functools.wraps(command)
    def wrapped(*args: P.args, **kwargs: P.kwargs) -> None:
        given = {option.name: kwargs.pop(option.name) for option in options}
        command(made(given), *args, **kwargs)

    own = [
        parameter
        for known, parameter in inspect.signature(command).parameters.items()
        if known != name
    ]
    wrapped.__signature__ = inspect.Signature([*own, *options])  # type: ignore[attr-defined] # functools.wraps makes a function, which takes it
    return wrapped


def with_filters(
    command: Callable[Concatenate[Filters, P], None],
) -> Callable[P, None]:
    """Give a command the shared filters as options and hand them in as one value."""
    return with_options(command, "filters", _parameters(), _filters)


def _filters(words: dict[str, object]) -> Filters:
    return Filters.of(
        {
            field.alias or name: value.date()
            if isinstance(value := words[name], dt.datetime)
            else value
            for name, field in Filters.model_fields.items()
        }
    )


def _parameters() -> list[inspect.Parameter]:
    made = []
    for name, field in Filters.model_fields.items():
        word = (field.alias or name).replace("_", "-")
        text = HELP.get(name, f"{word.replace('-', ' ').capitalize()}.")
        is_day = name in {"from_", "to"}
        option = (
            typer.Option(f"--{word}", help=text, formats=["%Y-%m-%d"])
            if is_day
            else typer.Option(f"--{word}", help=f"{text} May be repeated.")
        )
        kind = dt.datetime | None if is_day else list[str] | None
        made.append(
            inspect.Parameter(
                name,
                inspect.Parameter.KEYWORD_ONLY,
                default=None,
                annotation=Annotated[kind, option],
            )
        )
    return made


def print_json(answer: Answer) -> None:
    """Print the answer as one JSON document."""
    typer.echo(json.dumps(answer.document(), ensure_ascii=False, indent=2))


def heading(answer: Answer, title: str) -> str:
    """Return the two lines over a table: what it answers, and what it rests on."""
    about = answer.about
    basis = (
        f"as of {about.as_of}, figures {about.snapshot}" if about else "from the store"
    )
    filters = answer.filters.sentence()
    parts = [basis, *([filters] if filters else [])]
    if answer.invented:
        parts.append("invented data")
    return f"{title}\n({'; '.join(parts)})"
