"""The answer about failure modes as a short table of text, for the terminal."""

import math
from collections.abc import Mapping, Sequence
from typing import cast

import typer

from dashboard import text
from dashboard.cli.options import heading
from dashboard.cli.printing import table
from dashboard.queries.answer import Answer, Row
from dashboard.queries.frequencies_words import commonest_sentence, limits_words

CHANGE = {
    "n_now": "now",
    "n_before": "before",
    "ratio": "ratio of rates",
    "p": "adjusted p",
}


def modes(answer: Answer) -> None:
    """Print the commonest modes with share, rate and change, and what to know of them.

    Rates are per 1 000 units in service and year. The ratio is that to the rate of the
    period before, with the cases of both, and the p-value is adjusted over all modes.
    """
    n = cast("int", answer.more["n_confirmed"])
    typer.echo(heading(answer, "Which failure modes were confirmed, and how often?"))
    rates = _by_mode(cast("Sequence[Row]", answer.more["rates"]))
    change = cast("Mapping[str, object]", answer.more["change"])
    changes = _by_mode(cast("Sequence[Row]", change["rows"]))
    typer.echo(commonest_sentence(answer.rows))
    rows: list[Row] = [
        {
            "mode": row["mode"],
            "cases": row["n_cases"],
            "share": text.share(cast("float", row["share"]), n),
            "interval": text.share_interval(
                cast("float", row["low"]), cast("float", row["high"]), n
            ),
            "rate": _rate(rates.get(row["mode"])),
            **_change(changes.get(row["mode"])),
            "severity": row["severity"] if row["is_failure"] else "no failure of unit",
        }
        for row in answer.rows
    ]
    columns = {
        "mode": "mode",
        "cases": "cases",
        "share": "share",
        "interval": "95 % interval",
        **({"rate": "per 1 000 unit-years"} if rates else {}),
        **(CHANGE if changes else {}),
        "severity": "severity",
    }
    table(rows, columns)
    typer.echo(
        f"{text.counted(n, 'confirmed case')}; {answer.more['n_open']} open, "
        f"{answer.more['n_repeats']} of units that were here before, "
        f"{answer.more['n_unknown_serial']} of units not in the register."
    )
    basis = cast("Mapping[str, object]", answer.more["rate_basis"])
    back = cast("Mapping[str, object]", answer.more["repeats"])
    sentences = [basis["sentence"], change["sentence"], back["sentence"]]
    for sentence in dict.fromkeys(map(str, sentences)):
        typer.echo(sentence)
    for note in cast("Sequence[str]", answer.more["notes"]):
        typer.echo(f"note: {note}")


def _by_mode(rows: Sequence[Row]) -> Mapping[object, Row]:
    return {row["mode"]: row for row in rows}


def _rate(row: Row | None) -> str:
    if row is None:
        return ""
    rate, low, high = (cast("float", row[name]) for name in ("rate", "low", "high"))
    return f"{text.estimate(rate)} ({text.interval(low, high)})"


def _change(row: Row | None) -> Row:
    if row is None:
        return {}
    ratio, low, high, p = (
        cast("float", row[name]) for name in ("ratio", "low", "high", "adjusted_p")
    )
    times = (
        f"{text.TIMES}{text.estimate(ratio)}" if math.isfinite(ratio) else "none before"
    )
    return {
        "n_now": row["n_now"],
        "n_before": row["n_before"],
        "ratio": f"{times} ({limits_words(low, high)})",
        "p": text.p_value(p),
    }
