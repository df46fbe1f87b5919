"""The tables of the report about suggestions, each for itself too."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, cast

import numpy as np

from analytics.advice.evaluation import Evaluation
from analytics.advice.evaluation_scores import Scores
from analytics.statistics.intervals import binomial_interval
from dashboard.queries.answer import Answer, Row
from ingest import catalogue

NORMAL = 1.959964  # two-sided 95 %

METHODS: Mapping[str, str] = {
    "fared": "At every publish each case that is open and has none yet is given a "
    "suggestion by the suggester of those figures, once; it is kept and never changed. "
    "As nobody knew the cause, none was learned from. Shares with Wilson's 95 % "
    "interval among those confirmed since, from 10 cases on; a case still open counts "
    "nowhere. Mean share given: with the interval of a mean (normal). Share right less "
    "mean share given: Wilson's limits less that mean; by chance: what 95 % of "
    "suggesters stay below whose shares are exactly right (normal). Afterwards: the "
    "same measure on the newest confirmed cases.",
    "calibration": "Cases by the confidence of the first suggestion, ten bins of equal "
    "width; mean confidence, and share right with Wilson's 95 % interval.",
    "coverage": "If only the surest cases were answered: share of cases answered, the "
    "least confidence among them, share wrong with Wilson's 95 % interval. Cases of "
    "one confidence are answered together.",
    "modes": "Scored cases by their confirmed mode: how many it was named first for, "
    "and among the first three, with Wilson's 95 % interval; its mean share in them; "
    "and how many cases of any mode it was named first for.",
    "months": "Cases by month of receipt: how many have no confirmed mode, and of "
    "those scored how many were named right, with Wilson's 95 % intervals. The months "
    "before the newest 15 % of the confirmed cases have none scored.",
}
PARTS = tuple(METHODS)

LABELS = {
    "top_1": "named first",
    "top_3": "among the first three",
    "log_loss": "log loss (nats per case)",
    "calibration_error": "calibration error",
    "answered": "enough evidence to name one",
    "answered_top_1": "of these, named first",
    "silent_top_1": "of the others, would have been named first",
}


def part(answer: Answer, name: str) -> Answer:
    """Return one further table of the report as an answer of its own.

    Parameters
    ----------
    answer : Answer
        As `suggestion_report` gives it.
    name : str
        One of `PARTS`.
    """
    rows = cast("Sequence[Row]", answer.more[name])
    return replace(answer, rows=rows, method=METHODS[name], more={})


def measures(found: Evaluation) -> list[Row]:
    """Return one row for each measure, of the suggester and of class shares."""
    rows = []
    for of in ("suggester", "class_shares"):
        scores: Scores = getattr(found, of)
        rows += [
            _share("top_1", of, scores.n_top_1, found.n_scored),
            _share("top_3", of, scores.n_top_3, found.n_scored),
            _loss(of, scores, found.n_scored),
            _row("calibration_error", of, scores.calibration_error, found.n_scored)
            | {"by_chance": scores.calibration_by_chance},
        ]
    n_silent = found.n_scored - found.n_answered
    return [
        *rows,
        _share("answered", "suggester", found.n_answered, found.n_scored),
        _share("answered_top_1", "suggester", found.n_answered_right, found.n_answered),
        _share("silent_top_1", "suggester", found.n_silent_right, n_silent),
    ]


def _row(measure: str, of: str, value: float | None, n_of: int) -> Row:
    return {
        "measure": measure,
        "label": LABELS[measure],
        "of": of,
        "value": value,
        "low": None,
        "high": None,
        "n": None,
        "n_of": n_of,
        "by_chance": None,
    }


def _share(measure: str, of: str, n: int, n_of: int) -> Row:
    if not n_of:
        return _row(measure, of, None, 0) | {"n": 0}
    low, high = binomial_interval(n, n_of)
    limits = {"low": float(low), "high": float(high), "n": n}
    return _row(measure, of, n / n_of, n_of) | limits


def _loss(of: str, scores: Scores, n_of: int) -> Row:
    row = _row("log_loss", of, scores.log_loss, n_of)
    if np.isnan(scores.log_loss_error):
        return row
    half = NORMAL * scores.log_loss_error
    return row | {"low": scores.log_loss - half, "high": scores.log_loss + half}


def calibration(found: Evaluation) -> list[Row]:
    """Return a row for each bin of confidence that has a case."""
    curve = found.calibration
    return _rows(
        {
            "from": curve.low,
            "to": curve.high,
            "n_cases": curve.n,
            "mean_confidence": curve.mean,
            "n_right": curve.n_right,
            "share": curve.share,
            "low": curve.share_low,
            "high": curve.share_high,
        }
    )


def coverage(found: Evaluation) -> list[Row]:
    """Return a row for each share of cases answered."""
    curve = found.coverage
    return _rows(
        {
            "coverage": curve.coverage,
            "n_answered": curve.n,
            "least_confidence": curve.confidence,
            "n_wrong": curve.n_wrong,
            "error": curve.error,
            "low": curve.error_low,
            "high": curve.error_high,
        }
    )


def modes(found: Evaluation, causes: Sequence[str]) -> list[Row]:
    """Return a row for each confirmed mode scored, most cases first."""
    by, known = found.causes, catalogue.failure_modes()
    low, high = binomial_interval(by.n_right, by.n)
    low_3, high_3 = binomial_interval(by.n_in_top_3, by.n)
    rows = _rows(
        {
            "mode": np.array([causes[cause] for cause in by.cause], dtype=object),
            "n_cases": by.n,
            "n_right": by.n_right,
            "share": by.n_right / by.n,
            "low": low,
            "high": high,
            "n_in_top_3": by.n_in_top_3,
            "share_in_top_3": by.n_in_top_3 / by.n,
            "low_in_top_3": low_3,
            "high_in_top_3": high_3,
            "mean_probability": by.mean,
            "n_named": by.n_named,
        }
    )
    rows.sort(key=lambda row: (-cast("int", row["n_cases"]), str(row["mode"])))
    return [
        {
            "mode": row["mode"],
            "label": known[str(row["mode"])].label,
            "component": known[str(row["mode"])].component,
        }
        | row
        for row in rows
    ]


def months(found: Evaluation) -> list[Row]:
    """Return a row for each month of receipt, oldest first."""
    rows: list[Row] = []
    for month in found.months:
        low, high = binomial_interval(month.n_unlabelled, month.n_cases)
        row: Row = {
            "month": month.month,
            "n_cases": month.n_cases,
            "n_unlabelled": month.n_unlabelled,
            "share_unlabelled": month.n_unlabelled / month.n_cases,
            "low_unlabelled": float(low),
            "high_unlabelled": float(high),
            "n_scored": month.n_scored,
            "n_right": month.n_right,
            "share": None,
            "low": None,
            "high": None,
            "calibration_error": None,
        }
        if month.n_scored:
            low, high = binomial_interval(month.n_right, month.n_scored)
            row |= {
                "share": month.top_1,
                "low": float(low),
                "high": float(high),
                "calibration_error": month.calibration_error,
            }
        rows.append(row)
    return rows


def _rows(columns: Mapping[str, Any]) -> list[Row]:
    # Plain values: an array's own kind of number is not what exports know.
    lists = [np.asarray(values).tolist() for values in columns.values()]
    return [
        dict(zip(columns, cells, strict=True)) for cells in zip(*lists, strict=True)
    ]
