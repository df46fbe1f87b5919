"""Recurring failures: what its parts share, from the answer to the files."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import cast

import streamlit as st

from dashboard import text
from dashboard.drawing.pictures import Picture
from dashboard.page_parts import ink, widgets
from dashboard.queries.answer import Answer, Row
from dashboard.queries.watch_parts import flat, of_alarm, part

PAGE = "watch"
Rows = Sequence[Row]
RATIO = st.column_config.NumberColumn("ratio", format="%.2f")
LOW = st.column_config.NumberColumn("95 % from", format="%.2f")
HIGH = st.column_config.NumberColumn("to", format="%.2f")
EXPECTED = st.column_config.NumberColumn("expected", format="%.3g")


@dataclass(frozen=True, slots=True)
class Watched:
    """An answer about recurring failures."""

    answer: Answer

    def rows(self, name: str) -> Rows:
        """Return one of the lists of the answer."""
        return cast("Rows", self.answer.more[name])

    def row(self, name: str) -> Row:
        """Return one of the records of the answer."""
        return cast("Row", self.answer.more[name])

    def n(self, name: str) -> int:
        """Return one of the counts of the answer."""
        return cast("int", self.answer.more[name])

    def of(self, name: str, alarm: str) -> Rows:
        """Return the rows of one of the lists that belong to an alarm."""
        return [row for row in self.rows(name) if row["alarm"] == alarm]

    @property
    def young(self) -> Rows:
        """The young lots that stand out against older ones at the same ages."""
        return [row for row in self.rows("early") if row["is_raised"]]

    @property
    def per_year(self) -> str:
        """The setting: false alarms a year over the whole fleet."""
        return f"{cast('float', self.answer.more['false_alarms_per_year']):g}"

    def offer(
        self,
        table: str | None = None,
        *,
        alarm: str | None = None,
        picture: Picture | None = None,
    ) -> None:
        """Offer a table of the answer as files, and a picture beside it.

        Parameters
        ----------
        table : str, optional
            A table of `watch_parts`; none: the alarms.
        alarm : str, optional
            The only alarm whose rows are shown.
        picture : Picture, optional
        """
        answer = of_alarm(self.answer, alarm) if alarm else self.answer
        widgets.offer_files(
            PAGE,
            part(answer, table) if table else flat(answer),
            words={**answer.filters.stated(), **answer.asked},
            table=f"{PAGE}-{table}" if table else None,
            picture=picture,
        )

    def offer_chart(self, picture: Picture, *, name: str) -> None:
        """Offer a chart that has no table of its own as SVG and PNG."""
        with st.container(horizontal=True):
            widgets.offer_picture(PAGE, picture, self.answer, name)

    def is_new(self, row: Row) -> bool:
        """Whether the figures published before did not have an alarm."""
        about = self.answer.about
        return bool(row["is_new_figures"] and about and about.previous)


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
    ink.show_chart(picture.chart, key=f"{PAGE}_{key}", seen=seen)
    if picture.words:
        st.caption(picture.words)


def number(row: Mapping[str, object], name: str) -> float | None:
    """Return a number of a row, or None."""
    return cast("float | None", row[name])


def estimate(row: Mapping[str, object], name: str) -> str:
    """Return an estimate of a row as words; a dash where there is none."""
    return text.estimate(number(row, name))


def span(row: Mapping[str, object], low: str = "low", high: str = "high") -> str:
    """Return an interval of a row as "1.2 to 3.4"; empty where there is none."""
    if row[low] is None and row[high] is None:
        return ""
    if row[high] is None:
        return f"{estimate(row, low)} or more"
    return text.interval(number(row, low), number(row, high))


def failed_cases(row: Row) -> str:
    """Return how many cases there are and how many were expected, in words."""
    n = text.counted(cast("int", row["n_cases"]), "case")
    return f"{n} where {estimate(row, 'expected')} were expected"
