"""The one way to show a chart: its words can be read on the ground they stand on."""

import streamlit as st

from dashboard.drawing.charts import Chart

# Each can be read on the other ground, until the page knows of a change: 5.7 to 1 on
# white, 7 to 1 on the dark ground (WCAG 2.2 asks for 4.5).
INKS = {"light": "#666666", "dark": "#A6A6A6"}
LETTERS = 12  # pixels


def show_chart(chart: Chart, *, key: str, seen: str) -> None:
    """Show a chart.

    Parameters
    ----------
    chart : Chart
    key : str
    seen : str
        What the chart holds, for those who cannot see it.
    """
    st.altair_chart(inked(chart), key=key, alt=seen)


def inked(chart: Chart) -> Chart:
    """Return a chart with all its words in an ink that can be read.

    The theme of the page server writes axes and legends in a grey of 3.8 to 1 on
    white, and words among the marks in black on any ground.
    """
    ink = INKS.get(str(st.context.theme.type), INKS["light"])
    words = {"labelColor": ink, "titleColor": ink}
    drawn: Chart = (
        chart.configure_text(color=ink, fontSize=LETTERS)
        .configure_axis(**words)
        .configure_legend(**words)
        .configure_header(**words)
    )
    return drawn
