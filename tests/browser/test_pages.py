"""A person can do it in Chromium: open a page, pick symptoms, read what comes next."""

import re

import pytest
from playwright.sync_api import expect

from dashboard import text
from dashboard.app import PAGES

TABLET = {"width": 820, "height": 1180}
SECONDS = 30_000
# Nothing may be cut off to the right.
OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


def opened(tab, path):
    tab.goto(path)
    expect(tab.get_by_role("heading", level=1)).to_be_visible(timeout=SECONDS)
    expect(tab.get_by_text("What is left out and assumed")).to_be_visible(
        timeout=SECONDS
    )


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.address)
def test_each_page_opens_without_complaint_and_asks_no_other_host(tab, page):
    opened(tab, f"/{page.address}")

    expect(tab.get_by_text("invented data").first).to_be_visible()
    assert tab.get_by_test_id("stException").count() == 0
    assert tab.complaints == []
    assert len(tab.hosts) == 1
    assert tab.evaluate(OVERFLOW) <= 0


def test_the_start_leads_to_the_first_page_and_the_menu_to_the_others(tab):
    opened(tab, "/")
    assert tab.url.endswith("/today")

    tab.get_by_role("link", name="Time to failure").click()

    expect(
        tab.get_by_role(
            "heading", name="How long do units last before the first failure?"
        )
    ).to_be_visible(timeout=SECONDS)
    assert tab.url.endswith("/life")
    assert tab.complaints == []


def test_the_menu_holds_the_pages_and_nothing_else(tab):
    opened(tab, "/modes")

    named = tab.get_by_test_id("stTopNavLink").all_inner_texts()

    assert [name.strip() for name in named] == [
        page.title for page in PAGES if page.is_listed
    ]


def test_the_data_of_a_page_are_one_click_away(tab):
    opened(tab, "/modes?component=handle")

    link = tab.get_by_role("link", name="/api/v1/modes")

    answer = tab.request.get(link.get_attribute("href")).json()
    assert answer["filters"] == {"component": ["handle"]}


@pytest.mark.parametrize("size", [None, TABLET], ids=["desk", "tablet"])
def test_two_symptoms_picked_on_the_bench_give_a_first_check(tab, size):
    if size:
        tab.set_viewport_size(size)
    opened(tab, "/suggest")
    expect(tab.get_by_text(text.CAUTION)).to_be_visible()

    tab.get_by_role("tab", name="Handle and cable").click()
    pick(tab, "Stops when cable or handle is moved")
    tab.get_by_role("tab", name="Charging").click()
    pick(tab, "Vehicle does not see the plug")

    expect(tab.get_by_text(re.compile("^Most likely: "))).to_be_visible(timeout=SECONDS)
    card = tab.get_by_role("heading", level=3)
    expect(card).to_be_visible()
    expect(tab.get_by_text("Probes:")).to_be_visible()
    assert tab.url.endswith(
        "?symptom=stops_when_cable_moved&symptom=vehicle_not_detected"
    )
    first = card.inner_text()
    tab.get_by_role("button", name="Passed at every point").click()
    expect(tab.get_by_text("Checks noted for this unit")).to_be_visible(timeout=SECONDS)
    expect(card).not_to_have_text(first)
    assert "reading" not in tab.url
    assert tab.complaints == []
    assert tab.evaluate(OVERFLOW) <= 0


def pick(tab, label):
    chip = tab.get_by_role("button", name=label, exact=True).first
    chip.click()
    expect(tab.get_by_text(re.compile(f"^Reported: .*{label}"))).to_be_visible(
        timeout=SECONDS
    )


def test_a_reload_ends_the_checks_noted(tab):
    opened(tab, "/suggest?symptom=charge_does_not_start")
    tab.get_by_role("button", name="Passed at every point").click()
    expect(tab.get_by_text("Checks noted for this unit")).to_be_visible(timeout=SECONDS)

    tab.reload()

    expect(tab.get_by_text("What is left out and assumed")).to_be_visible(
        timeout=SECONDS
    )
    expect(tab.get_by_text("Checks noted for this unit")).to_have_count(0)


def test_a_filter_chosen_in_the_popover_is_in_the_address_and_has_a_chip(tab):
    opened(tab, "/modes")

    tab.get_by_role("button", name="Choose units and failures").click()
    tab.get_by_role("tab", name="Failures").click()
    box = tab.get_by_role("combobox", name="Component")
    box.click()
    box.press_sequentially("handle")
    tab.get_by_role("option").first.click()

    expect(tab).to_have_url(re.compile(r"component=handle$"), timeout=SECONDS)
    tab.keyboard.press("Escape")
    expect(tab.get_by_role("button", name=re.compile("^Component: "))).to_be_visible()
