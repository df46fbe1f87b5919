"""How the suggestions kept for open cases fared, once their causes were confirmed."""

from collections.abc import Mapping

import numpy as np
import pandas as pd

from analytics.advice.evaluation import Evaluation
from analytics.rollup.snapshot import Snapshot
from analytics.statistics.intervals import binomial_interval
from dashboard.filters import Filters
from dashboard.queries.answer import Answer, Row, rows_of
from dashboard.queries.suggestion_report_fared_words import COUNTS, fared_sentences
from dashboard.queries.suggestion_report_parts import METHODS, NORMAL
from dashboard.queries.trained import trained_suggester
from ingest.errors import UsageError

FEWEST = 10  # own choice: of fewer cases a share says next to nothing

LABELS = {
    "kept": "suggestions kept",
    "confirmed": "confirmed since",
    "open": "still open",
    "closed": "closed without a confirmed mode",
    "late": "of the confirmed, taken in late",
    "top_1": "named first",
    "top_3": "among the first three",
    "answered": "enough evidence to name one",
    "answered_top_1": "of these, named first",
    "silent_top_1": "of the others, would have been named first",
    "mean_given": "mean share given to the first",
    "right_less_given": "share right less mean share given",
}


def refuse_filters(filters: Filters) -> None:
    """Refuse filters: a suggester is scored as a whole.

    Raises
    ------
    UsageError
        A filter is set.
    """
    if filters.stated():
        raise UsageError(
            "The suggester is scored as a whole: filters do not apply to it.",
            hint="Leave the filters out; the table of modes tells them apart.",
        )


def suggestions_fared(snapshot: Snapshot, filters: Filters) -> Answer:
    """Return how suggestions given while the cause was open fared.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters
        None may be set.

    Returns
    -------
    Answer
        Rows: measure, label, value, low, high, n, n_of, by_chance, and of the cases
        scored afterwards: afterwards, afterwards_low, afterwards_high, afterwards_n,
        afterwards_n_of. A share of fewer than 10 cases is empty. More: sentences,
        needed, suggesters (which gave how many, from when to when).

    Raises
    ------
    UsageError
        A filter is set.
    NotPublishedError
        The suggester beside the figures cannot be used.
    """
    refuse_filters(filters)
    by_suggester = snapshot.ask("suggestions_fared")
    afterwards = trained_suggester(snapshot.suggester_folder).evaluation
    sums = by_suggester.sum(numeric_only=True)
    found = {str(name): float(value) for name, value in sums.items()}
    rows = [_counted(found, name) for name in COUNTS]
    rows += _shares(found, afterwards)
    rows += _calibration(found)
    return Answer(
        about=snapshot.about,
        filters=filters,
        method=METHODS["fared"],
        rows=rows,
        more={
            "sentences": fared_sentences(rows, by_suggester, needed=FEWEST),
            "needed": FEWEST,
            "suggesters": _suggesters(by_suggester),
        },
        invented=snapshot.about.is_invented,
    )


def _row(measure: str, n: int, n_of: int) -> Row:
    return {
        "measure": measure,
        "label": LABELS[measure],
        "value": None,
        "low": None,
        "high": None,
        "n": n,
        "n_of": n_of,
        "by_chance": None,
        "afterwards": None,
        "afterwards_low": None,
        "afterwards_high": None,
        "afterwards_n": None,
        "afterwards_n_of": None,
    }


def _counted(found: Mapping[str, float], name: str) -> Row:
    of = "confirmed" if name == "late" else "kept"
    return _row(name, int(found[f"n_{name}"]), int(found[f"n_{of}"]))


def _shares(found: Mapping[str, float], afterwards: Evaluation | None) -> list[Row]:
    n, n_first, n_three, n_enough, n_right = (
        int(found[f"n_{name}"])
        for name in ("confirmed", "first", "three", "enough", "enough_first")
    )
    counts = {
        "top_1": (n_first, n),
        "top_3": (n_three, n),
        "answered": (n_enough, n),
        "answered_top_1": (n_right, n_enough),
        "silent_top_1": (n_first - n_right, n - n_enough),
    }
    before = _afterwards(afterwards) if afterwards else {}
    rows = []
    for name, pair in counts.items():
        row = _row(name, *pair)
        if pair[1] >= FEWEST:
            row |= _share("value", "low", "high", pair)
        if before.get(name, (0, 0))[1]:
            names = ("afterwards", "afterwards_low", "afterwards_high")
            row |= _share(*names, before[name])
            row |= {"afterwards_n": before[name][0], "afterwards_n_of": before[name][1]}
        rows.append(row)
    return rows


def _afterwards(of: Evaluation) -> Mapping[str, tuple[int, int]]:
    return {
        "top_1": (of.suggester.n_top_1, of.n_scored),
        "top_3": (of.suggester.n_top_3, of.n_scored),
        "answered": (of.n_answered, of.n_scored),
        "answered_top_1": (of.n_answered_right, of.n_answered),
        "silent_top_1": (of.n_silent_right, of.n_scored - of.n_answered),
    }


def _share(value: str, low: str, high: str, pair: tuple[int, int]) -> Row:
    limits = binomial_interval(*pair)
    return {
        value: pair[0] / pair[1],
        low: float(limits[0]),
        high: float(limits[1]),
    }


def _calibration(found: Mapping[str, float]) -> list[Row]:
    n, n_first = int(found["n_confirmed"]), int(found["n_first"])
    given, less = _row("mean_given", n, n), _row("right_less_given", n, n)
    if n < FEWEST:
        return [given, less]
    mean = found["sum_given"] / n
    spread = max(found["sum_squares"] / n - mean**2, 0.0) * n / (n - 1)
    half = NORMAL * float(np.sqrt(spread / n))
    given |= {"value": mean, "low": max(mean - half, 0), "high": min(mean + half, 1)}
    low, high = binomial_interval(n_first, n)
    less |= {
        "value": n_first / n - mean,
        "low": float(low) - mean,
        "high": float(high) - mean,
        "by_chance": NORMAL * float(np.sqrt(found["sum_variances"])) / n,
    }
    return [given, less]


def _suggesters(found: pd.DataFrame) -> list[Row]:
    return rows_of(
        found[["suggester", "first_given_on", "last_given_on", "n_kept", "n_confirmed"]]
    )
