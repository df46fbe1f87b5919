"""One way to show a picture and a table of lives: on the page and to take home."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, cast

import streamlit as st

from dashboard import text
from dashboard.drawing.pictures import Picture
from dashboard.page_parts import ink, widgets
from dashboard.page_parts.lives_asked import PAGE
from dashboard.queries.answer import Answer, Row
from dashboard.queries.life_parts import part
from dashboard.queries.life_words import LifeWords

Rows = Sequence[Row]

# Words that bear on some tables only.
OF_GROUPS = ("groups", "group-shares", "group-sizes", "group-tests")
ONLY = {
    "age": ("shares", "brackets", "group-shares"),
    **dict.fromkeys(("by", "group", "within"), OF_GROUPS),
}


@dataclass(frozen=True, slots=True)
class Shown:
    """An answer about lives, and the words of the question it answers."""

    answer: Answer
    words: LifeWords

    def rows(self, name: str) -> Rows:
        """Return one of the lists of the answer."""
        return cast("Rows", self.answer.more[name])

    def row(self, name: str) -> Row | None:
        """Return one of the records of the answer; None where it holds none."""
        return cast("Row | None", self.answer.more.get(name))

    @property
    def is_part(self) -> bool:
        """Whether only some kinds of failure are asked for."""
        return self.answer.filters.names_failures

    @property
    def has_band(self) -> bool:
        """Whether enough failed for a band that holds the whole curve."""
        return any(not math.isnan(number(row, "band_low")) for row in self.answer.rows)

    def offer(self, table: str | None = None, picture: Picture | None = None) -> None:
        """Offer a table of the answer as files, and a picture beside it.

        Parameters
        ----------
        table : str, optional
            A table of `life_parts`; none: the curve.
        picture : Picture, optional
        """
        answer = part(self.answer, table) if table else self.answer
        words = {
            name: _plain(value)
            for name, value in self.words.stated().items()
            if table is None or name not in ONLY or table in ONLY[name]
        }
        # A file says what its rows rest on, not what else the page was asked.
        asked = {name: v for name, v in answer.asked.items() if name in words}
        widgets.offer_files(
            PAGE,
            replace(answer, asked=asked),
            words=answer.filters.stated() | words,
            table=f"{PAGE}-{table}" if table else None,
            picture=picture,
        )


def _plain(value: object) -> object:
    # 100 and not 100.0, as one would type it.
    if isinstance(value, list):
        return [_plain(single) for single in value]
    return int(value) if isinstance(value, float) and value.is_integer() else value


def draw(picture: Picture, *, key: str, seen: str) -> None:
    """Show a picture: its title as a heading, the chart, and how to read it.

    Parameters
    ----------
    picture : Picture
    key : str
    seen : str
        What the chart holds, for those who cannot see it.
    """
    st.header(picture.title)
    chart(picture, key=key, seen=seen)


def chart(picture: Picture, *, key: str, seen: str) -> None:
    """Show the chart of a picture, and how to read it."""
    ink.show_chart(picture.chart, key=f"{PAGE}_{key}", seen=seen)
    if picture.words:
        st.caption(picture.words)


def number(row: Mapping[str, object], name: str) -> float:
    """Return a number of a row; nan where there is none."""
    value = row[name]
    return float("nan") if value is None else float(str(value))


def count(row: Mapping[str, object], name: str) -> int:
    """Return a count of a row."""
    return cast("int", row[name])


def days(row: Mapping[str, object], name: str = "age_days") -> str:
    """Return an age of a row as words."""
    return text.estimate(number(row, name))


def span(row: Mapping[str, object], low: str = "low", high: str = "high") -> str:
    """Return an interval of a row as words; empty where there is none."""
    first, last = number(row, low), number(row, high)
    if math.isnan(first) and math.isnan(last):
        return ""
    if math.isinf(first):
        return "not reached"
    if math.isinf(last):
        return f"{text.estimate(first)} or more"
    return text.interval(first, last)


def percents(row: Row, *names: str) -> Row:
    """Return a row with shares turned into percent; what is missing stays so."""
    return row | {
        name: None if row[name] is None else 100 * number(row, name) for name in names
    }


def fine_percent(label: str) -> Any:
    """Return the configuration of a column of percent values of many units."""
    return st.column_config.NumberColumn(label, format="%.2f")
