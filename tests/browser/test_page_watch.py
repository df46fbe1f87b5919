"""Recurring failures in Chromium: to the evidence of an alarm and back, by keyboard."""

import csv
import io
import re

from playwright.sync_api import expect

TABLET = {"width": 820, "height": 1180}
SECONDS = 30_000
OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


def opened(tab, path):
    tab.goto(path)
    expect(tab.get_by_text("What is left out and assumed")).to_be_visible(
        timeout=SECONDS
    )


def test_the_evidence_is_one_key_away_and_the_address_leads_back_to_it(tab):
    tab.set_viewport_size(TABLET)
    opened(tab, "/watch")
    served = tab.request.get("/api/v1/watch").json()
    expect(tab.get_by_text(re.compile("^Set to about 2 false alarms"))).to_be_visible()
    first = served["rows"][0]

    name = f"{first['failure']}, {first['where']} →"
    tab.get_by_role("button", name=name).focus()
    tab.keyboard.press("Enter")

    expect(tab.get_by_text(first["sentence"][:60])).to_be_visible(timeout=SECONDS)
    expect(tab).to_have_url(re.compile(rf"alarm={first['alarm']}$"), timeout=SECONDS)
    for heading in (
        re.compile("^Failures a month: "),
        re.compile("^Evidence reached "),
        "What else the cases share",
        "What is being done about it",
    ):
        expect(tab.get_by_role("heading", name=heading)).to_be_visible()
    assert tab.evaluate(OVERFLOW) <= 0
    tab.reload()
    expect(tab.get_by_text(first["sentence"][:60])).to_be_visible(timeout=SECONDS)

    tab.get_by_role("button", name="← All alarms").focus()
    tab.keyboard.press("Enter")
    expect(tab.get_by_role("button", name=name)).to_be_visible(timeout=SECONDS)
    assert "alarm=" not in tab.url
    assert tab.complaints == []


def test_the_cases_of_an_alarm_go_home_as_a_file_and_its_chart_as_a_picture(tab):
    served = tab.request.get("/api/v1/watch").json()
    alarm = served["rows"][0]["alarm"]
    opened(tab, f"/watch?alarm={alarm}")

    with tab.expect_download() as started:
        tab.locator(".st-key-watch-cases_as_csv button").click()
    text = started.value.path().read_text("utf-8-sig")
    with tab.expect_download() as drawn:
        tab.locator(".st-key-watch_watch-months_as_svg button").click()

    found = [row["case_id"] for row in csv.DictReader(io.StringIO(text))]
    assert found == [c["case_id"] for c in served["cases"] if c["alarm"] == alarm]
    assert set(served["rows"][0]["cases"]) <= set(found)
    assert drawn.value.path().read_text("utf-8").startswith("<svg")
