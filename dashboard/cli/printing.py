"""Answers as short tables of text, for the terminal."""

from collections.abc import Mapping, Sequence
from typing import cast

import typer

from dashboard import text
from dashboard.cli.options import heading
from dashboard.queries.answer import Answer, Row

SHOWN = 12  # rows of a long table in the terminal; `--json` and `export` give all


def quality(answer: Answer) -> None:
    """Print what happened to the rows of every file, and what makes them doubtful."""
    typer.echo(heading(answer, "Can the data be trusted?"))
    table(
        cast("Sequence[Row]", answer.more["files"]),
        {
            "file": "file",
            "n_read": "read",
            "n_accepted": "accepted",
            "n_unchanged": "unchanged",
            "n_replaced": "replaced",
            "n_rejected": "set aside",
        },
    )
    table(
        cast("Sequence[Row]", answer.more["problems"]),
        {
            "kind": "kind",
            "field": "field",
            "code": "problem",
            "n_rows": "rows",
            "what_to_do": "what to do",
        },
    )
    support = cast("Mapping[str, object]", answer.more["label_support"])
    for name, n_cases in cast("Mapping[str, int]", support["counts"]).items():
        typer.echo(f"confirmed modes {name}: {text.count(n_cases)}")
    late = cast("Mapping[str, Sequence[Row]]", answer.more["late"])
    table(
        [
            row | {"share": text.share(cast("float", row["share"]), 1)}
            for row in late["steps"]
            if row["days"] is not None
        ],
        {
            "step": "from failure until",
            "share": "reports in",
            "days": "within days",
            "n_delays": "delays on record",
        },
    )
    for sentence in cast("Sequence[str]", answer.more["asked"]):
        typer.echo(f"asked: {sentence}")
    for row in cast("Sequence[Row]", answer.more["waiting"]):
        waits_for, n_names = row["waits_for"], cast("int", row["n_names"])
        typer.echo(
            f"{row['kind']} kept whose {waits_for} is not known yet: "
            f"{text.count(cast('int', row['n_rows']))} ({text.count(n_names)} "
            f"{waits_for if n_names == 1 else f'{waits_for}s'})"
        )
    for row in cast("Sequence[Row]", answer.more["spelling"]):
        typer.echo(
            f"One thing spelled in several ways? Nothing is merged by guess; the lines "
            f"for a mapping file:\n{row['mapping_lines']}"
        )
    left_out = cast("Mapping[str, int]", answer.more["left_out"])
    for reason, n in left_out.items():
        typer.echo(f"units without life data: {text.count(n)} {text.words(reason)}")


def record(answer: Answer) -> None:
    """Print one case or unit: its fields, then its lists."""
    typer.echo(heading(answer, str(answer.more["title"])))
    for row in answer.rows:
        for name, value in row.items():
            if value is not None:
                typer.echo(f"{name}: {value}")
    for name, part in answer.more.items():
        if isinstance(part, list) and part:
            typer.echo(f"\n{text.words(name)}")
            used = [c for c in part[0] if any(row[c] is not None for row in part)]
            table(part, {column: column for column in used})


def table(rows: Sequence[Row], columns: Mapping[str, str]) -> None:
    """Print rows as a table of text; only the first of many."""
    if not rows:
        return
    typer.echo(text.table(rows[:SHOWN], columns))
    if len(rows) > SHOWN:
        typer.echo(f"and {len(rows) - SHOWN} more (`--json` gives all)")
