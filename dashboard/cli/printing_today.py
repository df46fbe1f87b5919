"""What needs attention today as text: the caution first."""

from collections.abc import Mapping, Sequence
from typing import cast

import typer

from dashboard.cli.options import heading
from dashboard.cli.printing import table
from dashboard.queries.answer import Answer, Row
from dashboard.queries.today_words import (
    critical_sentence,
    no_new_alarm,
    state_sentence,
)


def today(answer: Answer) -> None:
    """Print critical cases, open work by age, new alarms and what changed."""
    more = answer.more
    typer.echo(f"CAUTION: {more['caution']}")
    typer.echo(heading(answer, "What needs attention today?"))
    typer.echo(critical_sentence(cast("Mapping[str, object]", more["critical"])))
    table(
        [
            row | {"state": "open" if row["is_open"] else "closed"}
            for row in answer.rows
        ],
        {
            "case_id": "case",
            "serial": "unit",
            "label": "failure",
            "since": "critical since",
            "is_new": "new",
            "state": "state",
            "why": "why",
        },
    )
    for row in cast("Sequence[Row]", more["work_states"]):
        typer.echo(state_sentence(row))
    table(
        [row for row in cast("Sequence[Row]", more["open_work"]) if row["n_cases"]],
        {"label": "open work", "band": "for", "n_cases": "cases"},
    )
    if more["alarms_why_not"]:
        typer.echo(f"alarms: none can be raised. {more['alarms_why_not']}")
    elif not more["alarms"]:
        typer.echo(no_new_alarm(answer.filters))
    for row in cast("Sequence[Row]", more["alarms"]):
        typer.echo(f"new alarm: {row['sentence']}")
    typer.echo(str(more["change"]))
