"""The words of charts can be read, light and dark.

Rule    WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1; contrast and relative
        luminance as its glossary defines them (from memory).
Grounds white, and the dark ground of the page server as Chromium shows it.
"""

import pytest

from dashboard.drawing import charts_watch
from dashboard.page_parts import ink
from dashboard.server import INK
from tests import watch_answers as made

GROUNDS = {"light": "#ffffff", "dark": "#171614"}
LEAST = 4.5


def luminance(colour):
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_black_on_white_has_the_contrast_that_the_rule_names():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


@pytest.mark.parametrize("ground", GROUNDS)
def test_the_ink_of_charts_can_be_read_on_its_ground(ground):
    assert contrast(ink.INKS[ground], GROUNDS[ground]) >= LEAST


def test_the_ink_of_the_page_can_be_read_on_white():
    assert contrast(INK, GROUNDS["light"]) >= LEAST


def test_axes_legends_headings_and_words_among_the_marks_have_the_ink():
    drawn = ink.inked(charts_watch.spark_chart(made.months(3))).to_dict()["config"]

    for part in ("axis", "legend", "header"):
        assert drawn[part]["labelColor"] == drawn[part]["titleColor"] == "#666666"
    assert drawn["text"]["color"] == "#666666"
