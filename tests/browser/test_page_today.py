"""Today in Chromium: from what needs attention down to one return, its unit, and up."""

import csv
import io
import re

from playwright.sync_api import expect

TABLET = {"width": 820, "height": 1180}
SECONDS = 30_000
OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
SMALL_PRINT = "What is left out and assumed"


def heading(tab, words):
    expect(tab.get_by_role("heading", name=words, level=1)).to_be_visible(
        timeout=SECONDS
    )
    expect(tab.get_by_text(SMALL_PRINT)).to_be_visible(timeout=SECONDS)


def test_one_goes_down_to_a_return_and_its_unit_and_up_again_by_keyboard(tab):
    tab.set_viewport_size(TABLET)
    tab.goto("/today")
    heading(tab, "What needs attention today?")
    expect(tab.get_by_text("it needs action by a qualified person")).to_be_visible()
    assert tab.evaluate(OVERFLOW) <= 0

    oldest = tab.get_by_role("link", name=re.compile("^Open the oldest received"))
    oldest.focus()
    tab.keyboard.press("Enter")
    heading(tab, "What is known of this return?")
    assert re.search(r"/case\?case_id=.+", tab.url)
    assert tab.evaluate(OVERFLOW) <= 0

    tab.get_by_role("link", name=re.compile("^Open its unit")).focus()
    tab.keyboard.press("Enter")
    heading(tab, "What is known of this unit?")
    assert re.search(r"/unit\?serial=.+", tab.url)

    tab.get_by_role("link", name="Returns", exact=True).focus()
    tab.keyboard.press("Enter")
    heading(tab, "Which returns are these?")
    assert tab.url.endswith("/cases")
    assert tab.complaints == []


def test_a_row_of_the_list_leads_to_its_return(tab):
    tab.goto("/cases?component=handle")
    heading(tab, "Which returns are these?")
    expect(tab.get_by_test_id("stSkeleton")).to_have_count(0, timeout=SECONDS)
    grid = tab.get_by_test_id("stDataFrame").first
    grid.scroll_into_view_if_needed()
    served = tab.request.get("/api/v1/cases?component=handle").json()["rows"]

    # The first row stands under the heading: each is some 36 pixels tall.
    with tab.context.expect_page(timeout=SECONDS) as opened:
        grid.click(position={"x": 30, "y": 55}, delay=60)

    there = opened.value
    heading(there, "What is known of this return?")
    assert there.url.endswith(f"/case?case_id={served[0]['case_id']}")


def test_open_work_is_taken_home_as_it_is_served(tab):
    tab.goto("/today")
    heading(tab, "What needs attention today?")

    with tab.expect_download() as started:
        tab.locator(".st-key-today-work_as_csv button").click()

    text = started.value.path().read_text("utf-8-sig")
    link = tab.get_by_role("link", name="/api/v1/export/today-work?format=json")
    served = tab.request.get(link.get_attribute("href")).json()["rows"]
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [row["n_cases"] for row in rows] == [str(row["n_cases"]) for row in served]


def test_a_return_that_is_not_there_is_told_and_the_way_up_stays(tab):
    tab.goto("/case?case_id=none%2Fof%3Fthese")

    expect(tab.get_by_text("There is no case none/of?these")).to_be_visible(
        timeout=SECONDS
    )
    expect(tab.get_by_role("link", name="Returns", exact=True)).to_be_visible()
