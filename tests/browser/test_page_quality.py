"""Data quality in Chromium: read on a tablet, and each table taken home as a file."""

import csv
import io

from playwright.sync_api import expect

TABLET = {"width": 820, "height": 1180}
SECONDS = 30_000
OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


def test_a_table_is_read_on_a_tablet_and_taken_home_as_it_is_served(tab):
    tab.set_viewport_size(TABLET)
    tab.goto("/quality")
    expect(tab.get_by_text("What is left out and assumed")).to_be_visible(
        timeout=SECONDS
    )
    for heading in (
        "Examples of rows set aside",
        "Which confirmed modes are proved by a reading?",
        "How late reports come in",
        "One thing spelled in several ways?",
        "What the data make one ask",
    ):
        expect(tab.get_by_role("heading", name=heading)).to_be_visible()
    assert tab.evaluate(OVERFLOW) <= 0

    with tab.expect_download() as started:
        tab.locator(".st-key-quality-files_as_csv button").click()

    file = started.value
    text = file.path().read_text("utf-8-sig")
    link = tab.get_by_role("link", name="/api/v1/export/quality-files?format=json")
    served = tab.request.get(link.get_attribute("href")).json()["rows"]
    rows = list(csv.DictReader(io.StringIO(text)))
    assert file.suggested_filename == "quality-files.csv"
    assert [row["n_read"] for row in rows] == [str(row["n_read"]) for row in served]
    assert {row["data"] for row in rows} == {"invented data"}
    assert tab.complaints == []
