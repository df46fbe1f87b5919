"""The report about suggestions as short tables of text, for the terminal."""

from collections.abc import Sequence
from typing import cast

import typer

from dashboard import text
from dashboard.cli.options import heading
from dashboard.cli.printing import SHOWN, table
from dashboard.queries.answer import Answer, Row
from dashboard.queries.suggestion_report_fared_words import COUNTS, fared_cells

OF = {"suggester": "suggester", "class_shares": "how often each occurs"}


def suggestions(answer: Answer) -> None:
    """Print how often suggestions were right, by confidence and by mode."""
    more = answer.more
    typer.echo(heading(answer, "How good are the suggestions?"))
    for name in ("sentence", "calibration_sentence", "answered_sentence"):
        typer.echo(more[name])
    table(
        [_measure(row) for row in answer.rows],
        {
            "label": "measure",
            "of": "of",
            "value": "value",
            "interval": "95 % interval",
            "n": "cases",
            "n_of": "of cases",
        },
    )
    for sentence in cast("Sequence[str]", more["fared_sentences"]):
        typer.echo(sentence)
    table(
        [
            fared_cells(row)
            for row in cast("Sequence[Row]", more["fared"])
            if row["measure"] not in COUNTS  # the sentence has them
        ],
        {
            "label": "given before the cause was known",
            "value": "value",
            "interval": "95 % interval",
            "n": "cases",
            "n_of": "of cases",
            "afterwards": "afterwards",
        },
    )
    calibration = cast("Sequence[Row]", more["calibration"])
    table(
        [
            {
                "said": _share(row["mean_confidence"], row["n_cases"]),
                "right": _share(row["share"], row["n_cases"]),
                "interval": _interval(row, row["n_cases"]),
                "n_cases": row["n_cases"],
            }
            for row in calibration
        ],
        {
            "said": "share given",
            "right": "of these right",
            "interval": "95 % interval",
            "n_cases": "cases",
        },
    )
    modes = cast("Sequence[Row]", more["modes"])
    table(
        [
            row
            | {
                "share": _share(row["share"], row["n_cases"]),
                "interval": _interval(row, row["n_cases"]),
            }
            for row in modes[:SHOWN]
        ],
        {
            "mode": "confirmed mode",
            "n_cases": "cases",
            "n_right": "named first",
            "share": "share",
            "interval": "95 % interval",
            "n_in_top_3": "among three",
        },
    )
    if len(modes) > SHOWN:
        typer.echo(f"{SHOWN} of {len(modes)} modes; `--json` and `export` give all.")
    for note in cast("Sequence[str]", more["notes"]):
        typer.echo(f"note: {note}")


def _measure(row: Row) -> Row:
    is_share = row["n"] is not None
    shown: Row = {"label": row["label"], "of": OF[str(row["of"])]}
    shown |= {"n": row["n"], "n_of": row["n_of"], "value": "", "interval": ""}
    if row["value"] is not None:
        value = cast("float", row["value"])
        shown["value"] = (
            _share(value, row["n_of"]) if is_share else text.estimate(value)
        )
    if row["low"] is not None:
        low, high = cast("float", row["low"]), cast("float", row["high"])
        shown["interval"] = (
            _interval(row, row["n_of"]) if is_share else text.interval(low, high)
        )
    elif row["by_chance"] is not None:
        by_chance = text.estimate(cast("float", row["by_chance"]))
        shown["interval"] = f"by chance up to {by_chance}"
    return shown


def _share(value: object, n: object) -> str:
    return text.share(cast("float", value), cast("int", n))


def _interval(row: Row, n: object) -> str:
    low, high = cast("float", row["low"]), cast("float", row["high"])
    return text.share_interval(low, high, cast("int", n))
