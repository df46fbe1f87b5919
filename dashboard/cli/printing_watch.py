"""The watch as a short table of text, for the terminal."""

from collections import Counter
from collections.abc import Sequence
from typing import cast

import typer

from dashboard import text
from dashboard.cli.options import heading
from dashboard.cli.printing import SHOWN, table
from dashboard.queries.answer import Answer, Row

AT_THE_ALARM = (
    "A ratio is that at the alarm, which tends to read high; its interval covers about "
    "80 to 94 %. The months after it are counted by themselves."
)
NO_VERDICT = (
    "A group is associated with the excess; nothing here is a verdict. What would "
    "settle it stands beside each alarm."
)


def watch(answer: Answer) -> None:
    """Print the alarms that stand, in order of urgency, and what limits them."""
    more = answer.more
    only_new = bool(answer.asked.get("new"))
    title = "Which failures recur more than they should?"
    typer.echo(heading(answer, f"{title} New alarms" if only_new else title))
    typer.echo(
        f"Set to about {more['false_alarms_per_year']:g} false alarms a year over the "
        "whole fleet (`false_alarms_per_year`)."
    )
    if not more["can_watch"]:
        typer.echo(str(more["why_not"]))
    if answer.rows:
        _alarms(answer.rows)
    elif more["can_watch"]:
        typer.echo(_none(only_new=only_new, is_filtered=bool(answer.filters.stated())))
    for sentence in cast("Sequence[str]", more["sentences"]):
        typer.echo(sentence)
    _the_rest(answer)


def _none(*, only_new: bool, is_filtered: bool) -> str:
    kind = "new alarm" if only_new else "alarm that stands"
    if is_filtered:
        return f"No {kind} has a case under these filters."
    return "No new alarm." if only_new else "No alarm stands."


def _alarms(rows: Sequence[Row]) -> None:
    table(
        [
            row
            | {
                "state": text.words(str(row["state"])),
                "interval": text.interval(
                    cast("float | None", row["low"]), cast("float | None", row["high"])
                ),
            }
            for row in rows
        ],
        {
            "alarm": "alarm",
            "severity": "severity",
            "failure": "failure",
            "where": "where",
            "since": "since",
            "n_cases": "failures",
            "expected": "expected",
            "ratio": "ratio",
            "interval": "95 % interval",
            "state": "state",
        },
    )
    for row in rows[:SHOWN]:
        typer.echo(
            f"{row['alarm']}: {row['sentence']} {row['explanation'] or ''}".rstrip()
        )
        if row["n_after"] or row["expected_after"]:
            typer.echo(f"{row['alarm']}: since the alarm {_after(row)}")
        if row["note"]:
            typer.echo(f"{row['alarm']}, noted {row['noted_on']}: {row['note']}")
    typer.echo(AT_THE_ALARM)
    typer.echo(NO_VERDICT)


def _after(row: Row) -> str:
    failures = text.counted(cast("int", row["n_after"]), "failure")
    expected, ratio, low, high = (
        cast("float | None", row[name])
        for name in ("expected_after", "ratio_after", "low_after", "high_after")
    )
    words = f"{failures}, {text.estimate(expected)} expected"
    if ratio is None:
        return f"{words}."
    return f"{words}; ratio {text.estimate(ratio)} ({text.interval(low, high)})."


def _the_rest(answer: Answer) -> None:
    thin = cast("Sequence[Row]", answer.more["thin"])
    past = cast("Sequence[Row]", answer.more["past"])
    states = Counter(str(row["state"]) for row in answer.rows)
    if answer.rows:
        typer.echo(
            "; ".join(
                f"{text.words(state)}: {text.count(n)}" for state, n in states.items()
            )
        )
    if answer.more["can_watch"]:
        typer.echo(
            "not enough data to watch (a doubling would probably not be noticed within "
            f"a year): {text.counted(len(thin), 'group')}"
        )
    typer.echo(f"alarms closed, or older than 12 months: {text.count(len(past))}")
