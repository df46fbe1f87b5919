"""The life answer as short tables of text, for the terminal."""

import math
from collections.abc import Mapping, Sequence
from typing import cast

import typer

from dashboard import text
from dashboard.cli.options import heading
from dashboard.cli.printing import table
from dashboard.queries.answer import Answer, Row
from dashboard.queries.life_law_words import in_words


def life(answer: Answer) -> None:
    """Print the ages by which units have failed, and what stands beside them."""
    typer.echo(heading(answer, "How long do units last before the first failure?"))
    if answer.filters.names_failures:
        typer.echo(
            "Other failures end a life here: up to the table of modes, and between "
            "groups, numbers say what would be if no other failure existed."
        )
    if answer.more["fit"] is None:
        _assumed(cast("Row", answer.more["assumed"]))
    else:
        _fit(answer)
    _shares(cast("Sequence[Row]", answer.more["failed_by"]))
    _modes(cast("Sequence[Row]", answer.more["modes"]))
    for name in ("without", "open", "bracketed", "comparison"):
        found = cast("Row | None", answer.more[name])
        if found is not None:
            typer.echo(found["sentence"])
    _counts(answer)


def _fit(answer: Answer) -> None:
    more = answer.more
    fit = cast("Mapping[str, object]", more["fit"])
    parameters = cast("Mapping[str, float]", fit["parameters"])
    intervals = cast("Mapping[str, tuple[float, float]]", fit["intervals"])
    for name, value in parameters.items():
        unit = " days" if name == "scale" else ""
        typer.echo(
            f"{in_words(fit['distribution'])} {name} {text.estimate(value)}{unit} "
            f"({text.interval(*intervals[name])})"
        )
    table(
        [
            {
                "failed": text.share(cast("float", row["failed_fraction"]), 1),
                "age": row["age_days"],
                "interval": _interval(row),
                "note": "beyond the oldest unit seen" if row["extrapolated"] else "",
            }
            for row in cast("Sequence[Row]", more["b_lives"])
        ],
        {"failed": "failed", "age": "by day", "interval": "95 % interval", "note": ""},
    )
    for name in ("frequency", "choice", "contradicted"):
        found = cast("Row | None", more[name])
        if found is not None:
            typer.echo(found["sentence"])


def _assumed(found: Row) -> None:
    typer.echo(found["sentence"])
    table(
        [
            {
                "shape": row["shape"],
                "scale": row["scale_days"],
                "b10": row["b10_days"],
                "interval": text.interval(
                    cast("float", row["b10_low"]), cast("float", row["b10_high"])
                ),
            }
            for row in cast("Sequence[Row]", found["rows"])
        ],
        {
            "shape": "shape, assumed",
            "scale": "scale (days)",
            "b10": "10 % failed by day",
            "interval": "95 % interval",
        },
    )


def _shares(rows: Sequence[Row]) -> None:
    table(
        [
            {
                "age": _whole(cast("float", row["age_days"])),
                "curve": _percent(row["curve_failed"]),
                "interval": _percents(row["curve_low"], row["curve_high"]),
                "failed": row["n_failed"],
                "at_risk": row["n_at_risk"],
            }
            for row in rows
        ],
        {
            "age": "by day",
            "curve": "failed",
            "interval": "95 % interval",
            "failed": "failures",
            "at_risk": "still at risk",
        },
    )


def _modes(rows: Sequence[Row]) -> None:
    if not rows:
        return
    age = text.estimate(cast("float", rows[0]["age_days"]))
    table(
        [
            {
                "mode": row["mode"],
                "incidence": _percent(row["incidence"]),
                "interval": _percents(row["low"], row["high"]),
                "failed": row["n_failed"],
            }
            for row in rows
        ],
        {
            "mode": "mode",
            "incidence": f"failed by day {age}",
            "interval": "95 % interval",
            "failed": "failures at any age",
        },
    )


def _counts(answer: Answer) -> None:
    more = answer.more
    typer.echo(
        f"{text.counted(cast('int', more['n_failed']), 'failure')} of "
        f"{text.counted(cast('int', more['n_units']), 'unit')}, known up to "
        f"{more['observation_end']}; "
        f"{text.counted(cast('int', more['n_open']), 'open case')} not confirmed."
    )
    for sentence in cast("Sequence[str]", more["not_counted"]):
        typer.echo(f"not counted: {sentence}")
    for reason, n in cast("Mapping[str, int]", more["left_out"]).items():
        typer.echo(f"left out: {text.count(n)} {text.words(reason)}")


def _interval(row: Row) -> str:
    return text.interval(cast("float", row["low"]), cast("float", row["high"]))


def _whole(age: float) -> float:
    # A number of days asked for is exact: it is written as a count.
    return int(age) if age.is_integer() else age


def _percent(share: object) -> str:
    value = text.estimate(100 * cast("float", share))
    return value if value == "-" else f"{value} %"


def _percents(low: object, high: object) -> str:
    shares = [100 * cast("float", share) for share in (low, high)]
    if all(map(math.isnan, shares)):
        return "not seen that long"
    return f"{text.interval(*shares)} %"
