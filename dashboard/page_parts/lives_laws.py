"""Time to failure: which law describes the failures, and where it does not."""

from collections.abc import Mapping, Sequence
from typing import cast

import streamlit as st

from dashboard import text
from dashboard.drawing.charts_fitted import NAMES
from dashboard.drawing.charts_laws import Law, has_whiskers, law_chart
from dashboard.drawing.pictures import Picture
from dashboard.page_parts import widgets
from dashboard.page_parts.lives_asked import PAGE
from dashboard.page_parts.lives_shown import Shown, chart, number, span
from dashboard.queries.answer import Row

LAWS: tuple[Law, ...] = ("weibull", "lognormal")
BAND_IN_WORDS = (
    " Pale: the 95 % band of the whole curve; a law that leaves it is contradicted."
)
WHISKERS_IN_WORDS = (
    " Whiskers: 95 % intervals of the ages by which 1, 5, 10 and 50 % have failed."
)
SYMBOLS = {"mu": "mean of log age", "sigma": "spread of log age"}


def show_laws(shown: Shown) -> None:
    """Show which law to prefer, the plots that judge it, and the laws as a table."""
    st.header("Which law describes the failures?")
    choice = shown.row("choice")
    if choice is not None:
        st.markdown(str(choice["sentence"]))
    pictures = {law: law_picture(shown, law) for law in LAWS}
    drawn = {law: picture for law, picture in pictures.items() if picture is not None}
    names = [f"{NAMES[law].capitalize()} scale" for law in drawn]
    *plots, table = st.tabs([*names, "Laws as a table"])
    for plot, (law, picture) in zip(plots, drawn.items(), strict=True):
        with plot:
            st.markdown(f"**{picture.title}**")
            chart(
                picture,
                key=f"plot_{law}",
                seen=f"Failures on the {NAMES[law]} scale, where the law is straight",
            )
            _offer_points(shown, picture, law)
    with table:
        _show_table(shown)


def law_picture(shown: Shown, law: Law) -> Picture | None:
    """Return the plot of a law; None where no failure can be plotted."""
    if not any(number(row, "age_days") > 0 for row in shown.rows("points")):
        return None
    position = str(shown.answer.more.get("points_position") or "")
    where = f" ({position})" if position else ""
    return Picture(
        law_chart(shown.answer, law),
        f"Failures on the scale where a {NAMES[law]} law is a straight line",
        f"Points: failures{where}, larger where several failed at one age."
        + (BAND_IN_WORDS if shown.has_band else "")
        + (WHISKERS_IN_WORDS if has_whiskers(shown.answer, law) else ""),
    )


def _offer_points(shown: Shown, picture: Picture, law: Law) -> None:
    with st.container(key=f"{PAGE}_{law}_files"):
        if law == LAWS[0]:
            shown.offer("points", picture=picture)
        else:
            # The points are the same: their files stand beside the first plot.
            with st.container(horizontal=True):
                widgets.offer_picture(
                    PAGE, picture, shown.answer, f"{PAGE}-points-{law}"
                )


def _show_table(shown: Shown) -> None:
    rows = [_row(row) for row in shown.rows("laws")]
    columns = {
        "law": "law",
        "standing": "how it stands",
        "b10": "10 % failed by (days)",
        "b10_interval": "95 % interval (days)",
        "n_failed": "failures",
        "difference": "AICc above the best",
        "parameters": st.column_config.TextColumn(
            "parameters (95 % interval)", width="large"
        ),
        "outside": "leaves the band at (days)",
        "line": "R² of the least-squares line",
        "test": "Anderson-Darling",
    }
    if not any(row["test"] for row in rows):
        del columns["test"]
    widgets.show_table(
        rows,
        columns,
        key=f"{PAGE}_laws",
        what="Laws fitted to the failures, how they stand, and what they say",
    )
    shown.offer("laws")


def _row(row: Row) -> Row:
    between = cast("Sequence[tuple[float, float]]", row["outside_between"])
    tested = row["anderson_darling"] is not None
    return {
        "law": NAMES[str(row["distribution"])],
        "standing": row["standing"] or "",
        "difference": text.estimate(number(row, "aicc_difference")),
        "parameters": _parameters(row),
        "b10": text.estimate(number(row, "b10_days")),
        "b10_interval": span(row, "b10_low", "b10_high"),
        "n_failed": row["n_failed"],
        "outside": ", ".join(
            text.age(begin) if begin == end else f"{text.age(begin)} to {text.age(end)}"
            for begin, end in between
        )
        or "nowhere",
        "line": f"{number(row, 'line_r_squared'):.3f}",
        "test": (
            f"{number(row, 'anderson_darling'):.3f}, "
            f"p {text.estimate(number(row, 'anderson_darling_p'))}"
            if tested
            else ""
        ),
    }


def _parameters(row: Row) -> str:
    values = cast("Mapping[str, float]", row["parameters"])
    intervals = cast("Mapping[str, tuple[float, float]]", row["intervals"])
    return "; ".join(
        f"{SYMBOLS.get(name, name)} {text.estimate(value)} "
        f"({text.interval(*intervals[name])})"
        for name, value in values.items()
    )
