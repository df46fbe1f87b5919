"""Time to failure with too few failures: what a range of assumed shapes would mean."""

import streamlit as st

from analytics.errors import InsufficientDataError
from dashboard import text
from dashboard.page_parts import widgets
from dashboard.page_parts.lives_asked import PAGE, choose_shapes
from dashboard.page_parts.lives_shown import Shown, number, span
from dashboard.queries.answer import Row
from dashboard.queries.life_words import LifeWords


def tell_way_on(error: InsufficientDataError, words: LifeWords) -> None:
    """Say that the data do not fix a law, and let a range of shapes be stated.

    Parameters
    ----------
    error : InsufficientDataError
        What is lacking for a law.
    words : LifeWords
    """
    widgets.tell_too_few(error)
    st.markdown(
        "Or state between which values the Weibull shape lies, from like units or from "
        "physics: under 1 failures become less frequent with age, above 1 more "
        "frequent. What follows then rests on that assumption."
    )
    choose_shapes(words)


def show_assumed(shown: Shown, assumed: Row) -> None:
    """Show the answer under a range of assumed shapes, named as an assumption."""
    widgets.tell_answer(str(assumed["sentence"]))
    st.warning(
        "No law is fitted: the shape is assumed, the data only fix the scale. Another "
        "range gives another answer."
    )
    choose_shapes(shown.words)


def show_shapes(shown: Shown, assumed: Row) -> None:
    """Show what each assumed shape would mean, as a table."""
    st.header("What each assumed shape would mean")
    rows: list[Row] = [
        {
            "shape": f"{number(row, 'shape'):g}",
            "scale": text.estimate(number(row, "scale_days")),
            "scale_interval": span(row),
            "b10": text.estimate(number(row, "b10_days")),
            "b10_interval": span(row, "b10_low", "b10_high"),
        }
        for row in _rows(assumed)
    ]
    widgets.show_table(
        rows,
        {
            "shape": "assumed shape",
            "scale": "63.2 % failed by (days)",
            "scale_interval": "95 % interval (days)",
            "b10": "10 % failed by (days)",
            "b10_interval": "95 % interval (days) ",
        },
        key=f"{PAGE}_assumed",
        what="Ages by which shares have failed under each assumed shape",
    )
    shown.offer("assumed")


def _rows(assumed: Row) -> list[Row]:
    rows = assumed["rows"]
    return list(rows) if isinstance(rows, list | tuple) else []
