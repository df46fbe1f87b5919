"""Failure modes: what its parts share, from the answer to the files."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, cast

import streamlit as st

from dashboard import text
from dashboard.drawing.pictures import Picture
from dashboard.page_parts import ink, widgets
from dashboard.queries.answer import Answer, Row
from dashboard.queries.frequencies_parts import part
from dashboard.queries.frequencies_words import limits_words

PAGE = "modes"
Rows = Sequence[Row]


@dataclass(frozen=True, slots=True)
class Counted:
    """An answer about failure modes."""

    answer: Answer

    def rows(self, name: str) -> Rows:
        """Return one of the lists of the answer."""
        return cast("Rows", self.answer.more[name])

    def inner(self, name: str, key: str) -> Rows:
        """Return one of the lists within a part of the answer."""
        return cast("Mapping[str, Rows]", self.answer.more[name])[key]

    def row(self, name: str) -> Row:
        """Return one of the records of the answer."""
        return cast("Row", self.answer.more[name])

    def n(self, name: str) -> int:
        """Return one of the counts of the answer."""
        return cast("int", self.answer.more[name])

    def offer(self, table: str | None = None, picture: Picture | None = None) -> None:
        """Offer a table of the answer as files, and a picture beside it.

        Parameters
        ----------
        table : str, optional
            A table of `frequencies_parts`; none: the modes.
        picture : Picture, optional
        """
        answer = part(self.answer, table) if table else self.answer
        # Only the rows go into a file: what else the answer holds stays here.
        widgets.offer_files(
            PAGE,
            replace(answer, more={}),
            words=answer.filters.stated(),
            table=f"{PAGE}-{table}" if table else None,
            picture=picture,
        )


def draw(picture: Picture, *, key: str, seen: str) -> None:
    """Show the chart of a picture and how to read it, under its title in bold.

    Parameters
    ----------
    picture : Picture
    key : str
    seen : str
        What the chart holds, for those who cannot see it.
    """
    ink.show_chart(picture.chart, key=f"{PAGE}_{key}", seen=seen)
    if picture.words:
        st.caption(picture.words)


def number(row: Row, name: str) -> float:
    """Return a number of a row; nan where there is none."""
    value = row[name]
    return float("nan") if value is None else cast("float", value)


def count(row: Row, name: str) -> int:
    """Return a count of a row."""
    return cast("int", row[name])


def estimate(row: Row, name: str) -> str:
    """Return an estimate of a row as words; a dash where there is none."""
    return text.estimate(number(row, name))


def span(row: Row, low: str = "low", high: str = "high") -> str:
    """Return an interval of a row as words; empty where there is none."""
    if row[low] is None or row[high] is None:
        return ""
    return limits_words(number(row, low), number(row, high))


def decimal(label: str, digits: int = 2) -> Any:
    """Return the configuration of a column of numbers, which then sorts as numbers."""
    return st.column_config.NumberColumn(label, format=f"%.{digits}f")


def finite(row: Row, name: str) -> float | None:
    """Return a number of a row; None where there is none or it is beyond any."""
    value = number(row, name)
    return value if math.isfinite(value) else None


def p_value(row: Row, name: str = "adjusted_p") -> str:
    """Return a p-value of a row as words; empty where there is none."""
    return "" if row[name] is None else text.p_value(number(row, name))


def ages(row: Row) -> str:
    """Return a band of age of a row as words."""
    if row["from_days"] is None:
        return "age not known"
    start = text.count(count(row, "from_days"))
    if row["to_days"] is None:
        return f"{start} and older"
    return f"{start} to {text.count(count(row, 'to_days') - 1)}"
