"""How the suggestions kept for open cases fared, in sentences."""

from collections.abc import Mapping, Sequence

import pandas as pd

from dashboard import text
from dashboard.queries.answer import Row

COUNTS = ("kept", "confirmed", "open", "closed", "late")
TOO_FEW = "too few to say"


def fared_sentences(
    measures: Sequence[Row], found: pd.DataFrame, *, needed: int
) -> list[str]:
    """Return how many suggestions are kept, and how those confirmed since fared.

    Parameters
    ----------
    measures : sequence of dict
        The rows of the answer.
    found : DataFrame
        One row for each suggester, with first_given_on and last_given_on.
    needed : int
        Confirmed cases from which shares are given.
    """
    rows = {str(row["measure"]): row for row in measures}
    n_kept, n, n_open, n_closed, n_late = (int(str(rows[name]["n"])) for name in COUNTS)
    if not n_kept:
        return [
            "No suggestion is kept yet: the next publish keeps one for every open case."
        ]
    newest = found.sort_values("last_given_on").iloc[-1]
    first, last = (
        f"{day:%Y-%m-%d}"
        for day in (found["first_given_on"].min(), newest["last_given_on"])
    )
    days = f"on {first}" if first == last else f"from {first} to {last}"
    told = (
        f"{text.counted(n_kept, 'suggestion')} kept for cases open at the time, "
        f"{days}, by {text.counted(len(found), 'suggester')} (the newest: "
        f"{newest['suggester']}): {text.count(n)} confirmed since, "
        f"{text.count(n_open)} still open, {text.count(n_closed)} closed without a "
        "confirmed mode."
    )
    if n < needed:
        few = f"{text.count(n)} of the {text.count(needed)} confirmed cases needed"
        return [told, f"Not enough yet to say how they fared: {few}."]
    said = [told, _right(rows, n), _silence(rows), _calibrated(rows, n)]
    if n_late:
        said.append(
            f"{text.count(n_late)} of the {text.count(n)} were confirmed, by the "
            "record, before the suggestion was given, and taken in afterwards: the "
            "suggester had not learned from them."
        )
    return said


def fared_cells(row: Row) -> Row:
    """Return a row of the table with its numbers as text, empty where there is none."""
    value, interval = _cells(row, "value", "")
    if row["by_chance"] is not None:
        value = f"{100 * float(str(row['value'])):+.0f} points"
        interval = (
            f"{100 * float(str(row['low'])):+.0f} to "
            f"{100 * float(str(row['high'])):+.0f} points; by chance up to "
            f"{100 * float(str(row['by_chance'])):.0f}"
        )
    elif row["value"] is None and row["measure"] not in COUNTS:
        value = TOO_FEW
    again, its_interval = _cells(row, "afterwards", "afterwards_")
    n_again = row["afterwards_n_of"]
    return row | {
        "value": value,
        "interval": interval,
        "afterwards": again,
        "afterwards_interval": its_interval,
        "afterwards_n_of": "" if n_again is None else text.count(int(str(n_again))),
    }


def _cells(row: Row, what: str, prefix: str) -> tuple[str, str]:
    if row[what] is None:
        return "", ""
    n_of = int(str(row[f"{prefix}n_of"]))
    low, high = (float(str(row[f"{prefix}{end}"])) for end in ("low", "high"))
    shown = text.share(float(str(row[what])), n_of)
    return shown, text.share_interval(low, high, n_of)


def _right(rows: Mapping[str, Row], n: int) -> str:
    told = (
        f"Of the {text.count(n)} confirmed since, the mode was named first in "
        f"{_said(rows['top_1'])} and stood among the first three in "
        f"{_said(rows['top_3'])}."
    )
    other = rows["top_1"]["afterwards_n_of"]
    if other is None:
        return told
    first, three = (_said(rows[name], "afterwards") for name in ("top_1", "top_3"))
    cases = text.counted(int(str(other)), "case")
    return f"{told} Scored afterwards, on {cases}: {first} and {three}."


def _silence(rows: Mapping[str, Row]) -> str:
    parts = [
        f"{words} {_said(rows[name])}"
        if rows[name]["value"] is not None
        else f"{words} {rows[name]['n']} of {rows[name]['n_of']}, {TOO_FEW}"
        for name, words in (
            ("answered_top_1", "Where the evidence was enough to name one, right in"),
            ("silent_top_1", "where it kept silent, it would have been right in"),
        )
    ]
    return "; ".join(parts) + "."


def _calibrated(rows: Mapping[str, Row], n: int) -> str:
    less, mean = rows["right_less_given"], rows["mean_given"]
    value, chance = float(str(less["value"])), float(str(less["by_chance"]))
    given = text.share(float(str(mean["value"])), n)
    limits = text.share_interval(float(str(mean["low"])), float(str(mean["high"])), n)
    told = (
        f"The first mode was given {given} on average (95 % interval {limits}); "
        f"differences from the share right of up to {100 * chance:.0f} points come "
        f"about by chance, over {text.counted(n, 'case')}"
    )
    if abs(value) <= chance:
        return f"{told}: the data do not show that the shares are wrong."
    way = "too high" if value < 0 else "too low"
    return f"{told}: the shares were {way}, read them as an order, not as odds."


def _said(row: Row, what: str = "value") -> str:
    prefix = "" if what == "value" else f"{what}_"
    share, limits = _cells(row, what, prefix)
    return f"{share} ({row[f'{prefix}n']}; 95 % interval {limits})"
