"""Time to failure in Chromium: read on a desk and a tablet, and taken home by click."""

import csv
import io
import re

import pytest
from playwright.sync_api import expect

TABLET = {"width": 820, "height": 1180}
SECONDS = 30_000
OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
# Contrast of words with what is behind them, colours laid over each other by opacity.
CONTRASTS = """lines => lines.map(line => {
    const parts = text => text.match(/[\\d.]+/g).map(Number);
    const over = ([r, g, b, a = 1], below) =>
        [r, g, b].map((v, i) => a * v + (1 - a) * below[i]);
    let ground = [255, 255, 255];
    const behind = [];
    let opacity = 1;
    for (let node = line; node; node = node.parentElement) {
        behind.unshift(parts(getComputedStyle(node).backgroundColor));
        opacity *= Number(getComputedStyle(node).opacity);
    }
    for (const colour of behind) ground = over(colour, ground);
    const [r, g, b, a = 1] = parts(getComputedStyle(line).color);
    const light = colour => colour
        .map(v => v / 255)
        .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
        .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
    const both = [light(over([r, g, b, a * opacity], ground)), light(ground)];
    return (Math.max(...both) + 0.05) / (Math.min(...both) + 0.05);
})"""
HEADINGS = (
    "Units failed by age, and the fit over it",
    "Age by which units have failed (Weibull fit)",
    "Which law describes the failures?",
    "Failure rate by age",
    "Which failure takes how many units, by age",
    "Do two groups of units fail alike?",
)


def opened(tab, path):
    tab.goto(path)
    expect(tab.get_by_text("What is left out and assumed")).to_be_visible(
        timeout=SECONDS
    )


@pytest.mark.parametrize("size", [None, TABLET], ids=["desk", "tablet"])
def test_each_part_is_there_with_its_chart_and_nothing_is_cut_off(tab, size):
    if size:
        tab.set_viewport_size(size)
    opened(tab, "/life?by=model")

    for heading in HEADINGS:
        expect(tab.get_by_role("heading", name=heading, exact=True)).to_be_visible()
    charts = tab.get_by_test_id("stVegaLiteChart").locator("canvas, svg.marks")
    expect(charts.first).to_be_visible(timeout=SECONDS)
    tab.get_by_role("tab", name="Lognormal scale").click()
    panel = tab.get_by_role("tabpanel", name="Lognormal scale")
    shown = panel.locator("canvas, svg.marks").first
    expect(shown).to_be_visible(timeout=SECONDS)
    assert shown.bounding_box()["width"] > TABLET["width"] / 2
    assert tab.evaluate(OVERFLOW) <= 0
    assert tab.complaints == []
    assert len(tab.hosts) == 1


def test_grey_lines_can_be_read_in_light_and_dark(tab):
    # WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1.
    for scheme in ("light", "dark"):
        tab.emulate_media(color_scheme=scheme)
        opened(tab, "/life")
        lines = tab.get_by_test_id("stCaptionContainer").locator("p")

        assert lines.count() > 1
        assert min(lines.evaluate_all(CONTRASTS)) >= 4.5


def test_picture_and_table_taken_home_hold_what_is_shown(tab):
    opened(tab, "/life?component=handle")

    picture, file = (
        downloaded(tab, f".st-key-{key} button")
        for key in ("life_life_as_svg", "life_as_csv")
    )

    served = tab.request.get("/api/v1/life?component=handle").json()
    rows = list(csv.DictReader(io.StringIO(file.path().read_text("utf-8-sig"))))
    assert file.suggested_filename == "life.csv"
    assert [float(row["incidence"]) for row in rows] == [
        row["incidence"] for row in served["rows"]
    ]
    assert {row["filters"] for row in rows} == {"component: handle"}
    words = re.findall(r"<text[^>]*>([^<]+)</text>", picture.path().read_text("utf-8"))
    assert picture.suggested_filename == "life.svg"
    assert "Units failed by age with this failure, beside others" in words
    assert any(
        served["snapshot"] in line and "component: handle" in line for line in words
    )
    assert tab.complaints == []


def downloaded(tab, button):
    with tab.expect_download() as started:
        tab.locator(button).click()
    return started.value


def test_two_groups_chosen_by_hand_stay_in_the_address(tab):
    opened(tab, "/life")

    box = tab.get_by_role("combobox", name="Compare by")
    box.click()
    box.press_sequentially("cable")
    # By keyboard: the list moves while the page below it is drawn anew.
    expect(tab.get_by_role("option")).to_have_count(1, timeout=SECONDS)
    box.press("Enter")

    expect(tab).to_have_url(re.compile(r"\?by=cable_supplier$"), timeout=SECONDS)
    expect(tab.get_by_text(re.compile("log-rank test, p"))).to_be_visible(
        timeout=SECONDS
    )
    assert tab.complaints == []
