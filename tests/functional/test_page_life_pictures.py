"""Pictures of charts: words and provenance inside, the same each time, no network."""

import dataclasses
import io
import re

import altair as alt
import pytest
from PIL import Image

from dashboard.drawing import charts_life, pictures
from dashboard.filters import Filters
from dashboard.queries.life import life


@pytest.fixture
def answer(snapshot):
    return life(snapshot, Filters(component=("handle",)))


@pytest.fixture
def picture(answer):
    return pictures.Picture(
        charts_life.curve_chart(answer), "Units failed by age", "Read it so."
    )


def words_of(svg):
    return re.findall(r"<text[^>]*>([^<]+)</text>", svg.decode())


def test_a_picture_says_what_it_shows_and_where_its_numbers_come_from(answer, picture):
    words = words_of(pictures.as_svg(picture, answer))

    assert "Units failed by age" in words
    assert "Read it so." in words
    origin = next(line for line in words if answer.about.snapshot in line)
    assert f"as of {answer.about.as_of}" in origin
    assert "component: handle" in origin
    assert "invented data" in origin


def test_axes_and_legend_are_in_the_picture(answer, picture):
    words = words_of(pictures.as_svg(picture, answer))

    assert "age (days in service)" in words
    assert "units failed (%)" in words
    assert "observed" in words
    assert charts_life.INTERVAL in words


def test_the_same_chart_gives_the_same_picture_whatever_was_drawn_between(
    snapshot, answer, picture
):
    first = pictures.as_svg(picture, answer)
    other = life(snapshot, Filters())

    pictures.as_svg(pictures.Picture(charts_life.curve_chart(other), "Other"), other)

    assert pictures.as_svg(picture, answer) == first


def test_a_picture_as_png_is_light_and_twice_as_fine(answer, picture):
    svg = pictures.as_svg(picture, answer).decode()
    width = int(re.search(r'width="(\d+)"', svg)[1])

    with Image.open(io.BytesIO(pictures.as_png(picture, answer))) as drawn:
        corner = drawn.convert("RGB").getpixel((2, 2))
        size = drawn.size

    assert corner == (255, 255, 255)
    assert size[0] == pytest.approx(pictures.SCALE * width, abs=pictures.SCALE)


def test_long_filters_go_on_in_the_next_line(answer):
    many = Filters(lot=tuple(f"LOT-{n:03}" for n in range(60)))

    lines = pictures.provenance_lines(dataclasses.replace(answer, filters=many))

    assert len(lines) > 2
    assert max(map(len, lines)) <= pictures.LINE
    assert "LOT-059" in " ".join(lines)


def test_without_filters_and_snapshot_it_says_so(answer):
    bare = dataclasses.replace(answer, filters=Filters(), about=None, invented=False)

    assert pictures.provenance_lines(bare) == ["records stored · all units · records"]


def test_a_picture_fetches_nothing(answer):
    # An address kept for documentation (RFC 5737): nobody answers there.
    chart = alt.Chart("http://192.0.2.7/rows.csv").mark_point().encode(x="age:Q")
    picture = pictures.Picture(alt.layer(chart), "Fetched")

    with pytest.raises(ValueError, match=re.escape("192.0.2.7")):
        pictures.as_svg(picture, answer)


def test_a_picture_is_drawn_also_while_a_page_is_shown(answer):
    # The page server keeps data frames apart from the chart while it shows one.
    alt.data_transformers.register("apart", lambda *_, **__: {"name": "apart"})
    with alt.data_transformers.enable("apart"):
        drawn = charts_life.curve_chart(answer).to_dict()

    assert all(len(rows) for rows in drawn["datasets"].values())
