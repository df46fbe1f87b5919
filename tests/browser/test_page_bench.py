"""The bench in Chromium: a value typed is judged, and what bars mains stays in view."""

import pytest
from playwright.sync_api import expect

from dashboard import text

DESK = {"width": 1400, "height": 900}
TABLET = {"width": 820, "height": 1180}
SECONDS = 30_000
OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
CASE = "/suggest?symptom=stops_when_cable_moved&connector=type_1&finding=label_missing"


@pytest.mark.parametrize("size", [DESK, TABLET], ids=["desk", "tablet"])
def test_a_value_typed_is_judged_and_mains_stay_barred_with_the_reason(tab, size):
    tab.set_viewport_size(size)
    tab.goto(CASE)
    tab.get_by_role("button", name="Passed at every point").click(timeout=SECONDS)
    field = tab.get_by_role("textbox", name="Value measured (ohm)")
    expect(field).to_be_visible(timeout=SECONDS)

    field.fill("OL")
    field.press("Enter")

    expect(tab.get_by_text("OL ohm is outside the limit")).to_be_visible(
        timeout=SECONDS
    )
    expect(tab.get_by_text("No live check is offered")).to_be_visible()
    expect(tab.get_by_text("prove it dead again").first).to_be_visible()
    expect(tab.get_by_text("counts as confirmed").first).to_be_visible()
    expect(tab.get_by_text(text.CAUTION)).to_be_visible()
    assert tab.complaints == []
    assert tab.evaluate(OVERFLOW) <= 0


@pytest.mark.parametrize("size", [DESK, TABLET], ids=["desk", "tablet"])
def test_the_caution_stays_in_view_while_the_page_is_scrolled(tab, size):
    tab.set_viewport_size(size)
    tab.goto(CASE)
    last = tab.get_by_text("What is left out and assumed")
    expect(last).to_be_visible(timeout=SECONDS)

    last.scroll_into_view_if_needed()

    expect(tab.get_by_role("heading", level=1)).not_to_be_in_viewport()
    expect(tab.get_by_text(text.CAUTION)).to_be_in_viewport()
