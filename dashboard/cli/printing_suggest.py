"""The suggestion as short tables of text, for the terminal."""

from collections.abc import Mapping, Sequence
from typing import cast

import typer

from dashboard import text
from dashboard.cli.options import heading
from dashboard.cli.printing import table
from dashboard.queries.answer import Answer, Row
from dashboard.queries.suggest_reasons import reason_words


def suggest(answer: Answer) -> None:
    """Print the likely faults and the next checks, the caution first."""
    more = answer.more
    typer.echo(f"CAUTION: {more['caution']}")
    typer.echo(heading(answer, "What is it likely, and what to check first?"))
    if more["powered"]:
        typer.echo(str(more["powered"]))
    if more["too_little"]:
        typer.echo(str(more["too_little"]))
    rows = [
        {
            "mode": row["mode"],
            "probability": text.share(cast("float", row["probability"]), 1),
            "n_like": row["n_like"],
        }
        for row in answer.rows
    ]
    table(
        rows, {"mode": "likely fault", "probability": "share", "n_like": "like cases"}
    )
    for row in answer.rows:
        if row["against"]:
            reasons = cast("Sequence[Row]", row["reasons"])
            why = "; ".join(reason_words(reason) for reason in reasons)
            typer.echo(f"{row['mode']} against {row['against']}: {why}")
    typer.echo(str(more["source"]))
    typer.echo(str(more["table_source"]))
    for line in (*_unit_lines(more), *_said_lines(more), *_gate_lines(more)):
        typer.echo(line)
    _print_repair(more)
    table(
        [
            row
            | {
                "blocked": ", ".join(cast("list[str]", row["blocked_by"])),
                "minutes": f"{cast('float', row['minutes']):.0f}",
            }
            for row in cast("Sequence[Row]", more["checks"])
        ],
        {
            "check": "next check",
            "window": "expected",
            "hazard_words": "hazard",
            "minutes": "minutes",
            "blocked": "waits for",
        },
    )


def _unit_lines(more: Mapping[str, object]) -> list[str]:
    unit = cast("Row", more["unit"])
    known = ", ".join(cast("list[str]", unit["facts_words"]))
    return [str(unit["words"]), *([f"known of it: {known}"] if known else [])]


def _said_lines(more: Mapping[str, object]) -> list[str]:
    """Return what the readings say, what is asked, and what may be claimed."""
    lines = [str(hint) for hint in cast("Sequence[str]", more["hints"])]
    lines += [_noted(row) for row in cast("Sequence[Row]", more["readings"])]
    for verdict in cast("Sequence[Row]", more["verdicts"]):
        lines.append(str(verdict["words"]))
        lines += _asks(verdict)
    lines += [str(row["words"]) for row in cast("Sequence[Row]", more["places"])]
    protocol = cast("Row | None", more["protocol"])
    if protocol:
        lines += [str(protocol["words"]), *_asks(protocol)]
    what_if = cast("Row | None", more["what_if"])
    if what_if:
        lines += [f"{what_if['check']}: {told}" for told in _told(what_if)]
    return [*lines, *([str(more["moved"])] if more["moved"] else [])]


def _noted(row: Row) -> str:
    return f"{row['check']}: {row['outcome']}. {row['meaning']}"


def _asks(row: Row) -> list[str]:
    asks = cast("Sequence[str]", row["asks"])
    return [f'  answer with --met or --not-met "{ask}"' for ask in asks]


def _told(what_if: Row) -> list[str]:
    outcomes = cast("Sequence[Row]", what_if["outcomes"])
    words = {"fail": "if it fails", "pass": "if it passes"}
    told = [f"{words[str(row['outcome'])]}: {row['words']}" for row in outcomes]
    return told or [str(what_if["words"])]


def _print_repair(more: Mapping[str, object]) -> None:
    repair = cast("Row | None", more["after_repair"])
    if not repair:
        return
    typer.echo(f"After the repair. {repair['words']}")
    for row in cast("Sequence[Row]", repair["readings"]):
        typer.echo(_noted(row))
    rows = cast("Sequence[Row]", repair["rows"])
    if rows:
        columns = {
            "check": "must pass",
            "state": "state",
            "missing": "points missing",
            "window": "expected",
            "hazard_words": "hazard",
            "why": "because",
        }
        shown = [
            row | {"missing": ", ".join(cast("list[str]", row["missing_points"]))}
            for row in rows
        ]
        # All of them: what is cut off here would not be checked.
        typer.echo(text.table(shown, columns))


def _gate_lines(more: Mapping[str, object]) -> list[str]:
    if more["gate_is_open"]:
        return ["Gate open: every gate check has passed, the unit was proved dead."]
    left = [row["why"] for row in cast("Sequence[Row]", more["gate"]) if row["why"]]
    option = "--after-reading" if more["after_repair"] else "--reading"
    open_findings = cast("Sequence[str]", more["findings_open"])
    return [
        "No live check is offered:",
        *(f"  {why}" for why in left),
        *(
            f"  seen to: {option} visual_inspection@{finding}=pass"
            for finding in open_findings
        ),
    ]
