"""The command that lists the earlier cases behind a count of like cases."""

from typing import Annotated

import typer

from dashboard.cli.options import Json, heading, place_of, print_json, snapshot_of
from dashboard.cli.printing import SHOWN, table
from dashboard.queries.intake import Intake
from dashboard.queries.like_cases import like_cases


def like(
    intake: Intake,
    context: typer.Context,
    mode: Annotated[str, typer.Argument(help="Failure mode (code).")],
    *,
    as_json: Json = False,
) -> None:
    r"""List the earlier confirmed cases of a mode that are like a return.

    \b
    Example:
        mendfleet like handle_pilot_open --symptom stops_when_cable_moved
    """
    settings = place_of(context).settings()
    answer = like_cases(snapshot_of(context), intake, mode, settings=settings)
    if as_json:
        print_json(answer)
        return
    typer.echo(heading(answer, "Which earlier returns were like it?"))
    typer.echo(answer.more["sentence"])
    if answer.more["differs"]:
        typer.echo(answer.more["differs"])
    table(
        answer.rows[:SHOWN],
        {
            "case_id": "return",
            "received_on": "received",
            "model": "model",
            "shared": "what is shared",
            "support": "mode is",
        },
    )
    if len(answer.rows) > SHOWN:
        typer.echo(f"The newest {SHOWN} of {len(answer.rows)}; `--json` gives all.")
