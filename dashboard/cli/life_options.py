"""Options of the tables about lives: law, ages, an assumed shape, two groups."""

import inspect
from collections.abc import Callable
from typing import Annotated, Concatenate, ParamSpec

import typer
from pydantic import ValidationError

from analytics.statistics.distributions import Distribution
from dashboard.cli.options import with_options
from dashboard.queries.life_choice import GroupWord
from dashboard.queries.life_words import LifeWords
from ingest.errors import UsageError

P = ParamSpec("P")

KINDS: dict[str, tuple[object, str]] = {
    "distribution": (Distribution | None, "Law fitted to the lives."),
    "by": (GroupWord | None, "Compare two groups told apart by this word."),
    "group": (list[str] | None, "One of the two groups; without, those failing most."),
    "within": (GroupWord | None, "Compare only units that share this word."),
    "age": (list[float] | None, "Days at which to state the failed share. Repeatable."),
    "assumed_shape": (
        list[float] | None,
        "A Weibull shape taken as known, or both ends of a range; no law is fitted.",
    ),
}


def with_life_words(
    command: Callable[Concatenate[LifeWords, P], None],
) -> Callable[P, None]:
    """Give a command the words about lives as options, handed in as one value."""
    return with_options(command, "words", _parameters(), _words)


def _words(given: dict[str, object]) -> LifeWords:
    try:
        return LifeWords.model_validate({k: v for k, v in given.items() if v})
    except ValidationError as error:
        first = error.errors()[0]
        where = "".join(f"{part}: " for part in first["loc"])
        raise UsageError(
            f"{where}{first['msg']}.", hint="Correct the option, or leave it out."
        ) from None


def _parameters() -> list[inspect.Parameter]:
    return [
        inspect.Parameter(
            name,
            inspect.Parameter.KEYWORD_ONLY,
            default=None,
            annotation=Annotated[
                kind, typer.Option(f"--{name.replace('_', '-')}", help=words)
            ],
        )
        for name, (kind, words) in KINDS.items()
    ]
