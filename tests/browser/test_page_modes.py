"""Failure modes in Chromium: read, opened part by part, and left for the cases."""

import csv
import io
import re

import pytest
from playwright.sync_api import expect

TABLET = {"width": 820, "height": 1180}
SECONDS = 30_000
OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
PARTS = (
    "By component, severity, mechanism and cause",
    "Each mode in both periods",
    "Returns by month of failure and by age",
    "Do some groups fail more often than units of like age?",
    "Which modes go together with a symptom, a supplier, a place?",
    "Do repairs last? Units back within 90 days",
)


def opened(tab, path):
    tab.goto(path)
    expect(tab.get_by_text("What is left out and assumed")).to_be_visible(
        timeout=SECONDS
    )


@pytest.mark.parametrize("size", [None, TABLET], ids=["desk", "tablet"])
def test_each_part_opens_with_its_table_and_nothing_is_cut_off(tab, size):
    if size:
        tab.set_viewport_size(size)
    opened(tab, "/modes")

    for title in PARTS:
        tab.get_by_text(title).click()
        part = tab.get_by_test_id("stExpander").filter(has_text=title)
        expect(part.get_by_role("button", name="CSV", exact=True).first).to_be_visible(
            timeout=SECONDS
        )
        expect(part.get_by_test_id("stDataFrame").first).to_be_visible(timeout=SECONDS)

    assert tab.evaluate(OVERFLOW) <= 0
    assert tab.complaints == []
    assert len(tab.hosts) == 1


def test_a_mode_is_chosen_by_keyboard_and_its_cases_are_opened(tab):
    opened(tab, "/modes?component=handle")
    box = tab.get_by_role("combobox", name="See the cases of")
    box.focus()
    tab.keyboard.press("ArrowDown")
    tab.keyboard.press("ArrowDown")
    tab.keyboard.press("Enter")

    link = tab.get_by_role("link", name=re.compile("^Open these"))
    expect(link).to_have_attribute("href", re.compile("mode=handle_"))
    link.focus()
    tab.keyboard.press("Enter")

    expect(tab).to_have_url(
        re.compile(r"/cases\?component=handle&mode=handle_"), timeout=SECONDS
    )
    expect(tab.get_by_text(re.compile(r"^\d+ returns? of \d+ units?"))).to_be_visible(
        timeout=SECONDS
    )


def test_groups_chosen_on_the_page_are_those_taken_home(tab):
    opened(tab, "/modes")
    title = "Do some groups fail more often than units of like age?"
    tab.get_by_text(title).click()
    part = tab.get_by_test_id("stExpander").filter(has_text=title)
    box = part.get_by_role("combobox", name="Groups by")
    box.click()
    tab.get_by_role("option", name="cable supplier").click()
    link = part.get_by_role("link", name=re.compile("modes-by-cable-supplier"))
    expect(link).to_be_visible(timeout=SECONDS)

    with tab.expect_download() as taken:
        part.get_by_role("button", name="CSV", exact=True).click()

    assert taken.value.suggested_filename == "modes-by-cable-supplier.csv"
    content = taken.value.path().read_text("utf-8-sig")
    names = {row["value"] for row in csv.DictReader(io.StringIO(content))}
    assert len(names) > 1
