"""Charts as pictures: SVG and PNG, made here, with no browser and no network.

A picture travels without its page: its title and where its numbers come from are
drawn into it. It is light whatever the page is, because it ends up on paper.
"""

import re
import textwrap
from dataclasses import dataclass

import altair as alt
import vl_convert

from dashboard import exports
from dashboard.drawing.charts import Chart
from dashboard.queries.answer import Answer

WIDTH = 820
LINE = 136  # letters of small print that fit into the width
SCALE = 2  # pixels of a PNG for each of the SVG: sharp on paper
NO_HOST: list[str] = []  # from which a chart may fetch data
INK = "#1A1A1A"
SMALL_PRINT = "#595959"
FONT = "Liberation Sans, Arial, Helvetica, sans-serif"
CONFIG = {
    "background": "white",
    "padding": 16,
    "font": FONT,
    "view": {"stroke": None},
    "axis": {
        "labelFontSize": 13,
        "titleFontSize": 13,
        "titleFontWeight": "normal",
        "labelColor": INK,
        "titleColor": INK,
        "gridColor": "#E6E6E6",
        "domainColor": "#8C8C8C",
        "tickColor": "#8C8C8C",
        "titlePadding": 10,
    },
    "legend": {"labelFontSize": 13, "labelColor": INK, "titleColor": INK},
    "text": {"fontSize": 12, "color": INK},
    "title": {
        "anchor": "start",
        "color": INK,
        "fontSize": 16,
        "offset": 14,
        "subtitleColor": SMALL_PRINT,
        "subtitleFontSize": 12,
        "subtitlePadding": 6,
    },
}

_NUMBERED = re.compile(r"\b(?:clip|gradient)_?\d+")


@dataclass(frozen=True, slots=True)
class Picture:
    """A chart with what stands above it.

    Attributes
    ----------
    chart : Chart
    title : str
        What is seen.
    words : str
        How to read it; below the title.
    """

    chart: Chart
    title: str
    words: str = ""


def as_svg(picture: Picture, answer: Answer) -> bytes:
    """Return a picture as SVG, the same bytes each time.

    Parameters
    ----------
    picture : Picture
    answer : Answer
        Whose numbers are drawn: id, day, filters and kind of data stand below them.
    """
    drawn = vl_convert.vegalite_to_svg(
        _document(picture, answer), allowed_base_urls=NO_HOST
    )
    # The converter counts the parts that others refer to on and on, over all pictures.
    names: dict[str, str] = {}
    for name in _NUMBERED.findall(drawn):
        names.setdefault(name, f"part{len(names)}")
    return _NUMBERED.sub(lambda found: names[found[0]], drawn).encode()


def as_png(picture: Picture, answer: Answer) -> bytes:
    """Return a picture as PNG, two pixels for each of the SVG.

    Parameters
    ----------
    picture : Picture
    answer : Answer
    """
    return vl_convert.vegalite_to_png(
        _document(picture, answer), scale=SCALE, allowed_base_urls=NO_HOST
    )


def provenance_lines(answer: Answer) -> list[str]:
    """Return where the numbers come from, in lines that fit below a picture."""
    origin = exports.provenance(answer)
    parts = [
        f"figures {origin['snapshot']}" if origin["snapshot"] else "records stored",
        f"as of {origin['as_of']}" if origin["as_of"] else "",
        origin["filters"] or "all units",
        origin["data"],
    ]
    return textwrap.wrap(" · ".join(part for part in parts if part), LINE)


def _document(picture: Picture, answer: Answer) -> str:
    # The frame takes the title, so that it stands above the legend too.
    below = alt.TitleParams(
        provenance_lines(answer),
        orient="bottom",
        anchor="start",
        frame="bounds",
        fontSize=11,
        fontWeight="normal",
        color=SMALL_PRINT,
        offset=14,
    )
    above = alt.TitleParams(picture.title, subtitle=textwrap.wrap(picture.words, LINE))
    chart = picture.chart.properties(width=WIDTH, title=below)
    return alt.vconcat(chart, title=above).properties(config=CONFIG).to_json()
