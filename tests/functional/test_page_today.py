"""The page Today in each state: what it shows is what route, command and files give."""

import datetime as dt
import json

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from dashboard.api.app import api
from dashboard.cli.main import cli
from dashboard.place import VARIABLE
from dashboard.queries.today import CAUTION, PARTS
from dashboard.queries.today_changes import FIRST
from dashboard.settings import Place
from tests.small_fleet import AS_OF, case, published, reading, unit

UNITS = [unit(f"U/{n:03}", site="Harbour 1", connector="type_1") for n in range(30)]
WELDED = reading("R/1", "contactor_open", point="L1", value="0.4", unit="ohm")


@pytest.fixture(scope="module")
def critical(tmp_path_factory):
    """Return figures with an open case that a reading makes critical, and others."""
    place = Place(tmp_path_factory.mktemp("critical"))
    cases = [
        case("R/1", "U/001", received_on="2025-12-20"),
        case("R2", "U/002", confirmed_mode="fuse_open", confirmed_on="2025-06-10"),
    ]
    published(place.data, UNITS, [], as_of=dt.date(2025, 12, 1))
    published(place.data, UNITS, cases, readings=[WELDED])
    return place


@pytest.fixture
def quiet(tmp_path):
    """Return figures with nothing critical, nothing open and none before them."""
    closed = case(
        "R1",
        "U/001",
        confirmed_mode="fuse_open",
        confirmed_on="2025-06-10",
        closed_on="2025-06-12",
    )
    published(tmp_path, UNITS, [closed])
    return Place(tmp_path)


def test_a_critical_case_stands_first_with_what_to_do_and_the_way_to_it(
    open_page, read, critical
):
    page = open_page("today", of=critical)

    shown = read(page)
    assert page.title[0].value == "What needs attention today?"
    assert CAUTION in shown
    assert "1 critical case is not closed; 1 is new since the figures before." in shown
    (box,) = [part.value for part in page.warning if "Contactor welded" in part.value]
    assert box.startswith("**New. Contactor welded.**")
    assert "0.4 ohm; expected at least 1 000 000 ohm" in read(page)
    assert "A qualified person proves it dead" in box
    assert "local rules come first" in box
    links = [link.proto for link in page.get("page_link")]
    (link,) = [one for one in links if one.label.startswith("Open the return R/1")]
    assert (link.page, link.query_string) == ("case", "case_id=R%2F1")


def test_the_table_links_to_the_case_by_a_word_of_the_address(
    open_page, table_with, critical
):
    table = table_with(open_page("today", of=critical), "link", "label", "why")

    assert table["link"].tolist() == ["case?case_id=R%2F1"]
    assert table["is_new"].tolist() == ["new"]
    assert table["is_open"].tolist() == ["not closed"]


def test_open_work_stands_as_sentences_chart_and_table(
    open_page, read, table_with, critical
):
    page = open_page("today", of=critical)

    shown = read(page)
    assert "Received, waiting for confirmation: 1 case" in shown
    assert "the oldest for 12 days (case R/1)" in shown
    assert "Confirmed, not closed: 1 case" in shown
    work = table_with(page, "band", "n_cases")
    assert work["n_cases"].sum() == 2
    assert len(page.get("vega_lite_chart")) == 1


def test_what_changed_stands_as_a_line_and_two_tables(
    open_page, read, table_with, critical
):
    page = open_page("today", of=critical)

    assert "2 more cases, 1 more confirmed case (Fuse open 0 → 1)" in read(page)
    changed = table_with(page, "label", "now", "before", "difference")
    assert changed.set_index("label").loc["cases received", "now"] == "2"


def test_nothing_critical_and_nothing_open_is_said(open_page, read, quiet):
    shown = read(open_page("today", of=quiet))

    assert "No critical case is open." in shown
    assert "A case nobody has measured or confirmed is not among them." in shown
    assert "Received, waiting for confirmation: none." in shown
    assert FIRST in shown


def test_a_fleet_watched_too_short_has_no_alarms_and_says_why(
    open_page, read, tmp_path
):
    published(tmp_path, UNITS, [case("R1", "U/001")], as_of=dt.date(2025, 7, 1))

    page = open_page("today", of=Place(tmp_path))

    assert [h.value for h in page.header].count("New alarms of recurring failures") == 1
    assert "the watch begins with 13 months" in read(page)


def test_cases_without_any_day_of_closing_are_not_called_open_for_sure(
    open_page, read, critical
):
    assert "No case has a day of closing on record" in read(
        open_page("today", of=critical)
    )


def test_a_filter_that_leaves_nothing_says_so(open_page, read, critical):
    shown = read(open_page("today", of=critical, model=["Model B"]))

    assert "No critical case is open; 0 are new since the figures before." in shown
    assert "no more cases, no more confirmed cases under these filters" in shown


def test_many_open_cases_are_written_out_up_to_five(open_page, read, tmp_path):
    cases = [
        case(f"R{n}", f"U/{n:03}", confirmed_mode="contactor_welded") for n in range(7)
    ]
    published(tmp_path, UNITS, cases)

    page = open_page("today", of=Place(tmp_path))

    boxes = [part for part in page.warning if "Contactor welded" in part.value]
    assert len(boxes) == 5
    assert "2 further cases not closed: in the table." in read(page)


def test_words_from_a_file_are_shown_as_typed(open_page, tmp_path):
    picture = "![x](http://192.0.2.7/x.png)"
    units = [unit("U1X", site=picture)]
    published(tmp_path, units, [case("R1", "U1X", confirmed_mode="contactor_welded")])

    page = open_page("today", of=Place(tmp_path))

    (box,) = [part.value for part in page.warning if "192.0.2.7" in part.value]
    assert r"\!\[x\]" in box


def test_page_route_and_command_are_equal(open_page, table_with, critical, monkeypatch):
    monkeypatch.setenv(VARIABLE, str(critical.data))
    words = {"model": "Model A"}

    served = TestClient(api).get("/today", params=words).json()
    printed = CliRunner().invoke(
        cli, ["--data", str(critical.data), "today", "--model", "Model A", "--json"]
    )
    page = open_page("today", of=critical, model=["Model A"])

    assert json.loads(printed.stdout) == served
    assert [row["case_id"] for row in served["rows"]] == ["R/1"]
    assert table_with(page, "link", "why")["serial"].tolist() == ["U/001"]
    assert served["critical"]["n_new"] == 1
    assert served["previous"]["as_of"] == "2025-12-01"


@pytest.mark.parametrize("name", ["today", *(f"today-{part}" for part in PARTS)])
def test_each_table_is_exported_as_it_is_served(critical, monkeypatch, name):
    monkeypatch.setenv(VARIABLE, str(critical.data))
    client = TestClient(api)

    rows = client.get(f"/export/{name}", params={"format": "json"}).json()["rows"]

    document = client.get("/today").json()
    part = PARTS.get(name.removeprefix("today-"), "rows")
    assert len(rows) == len(document[part])
    if rows:
        first = document[part][0]
        assert {key: rows[0][key] for key in first} == first


def test_the_command_prints_the_caution_first(critical):
    printed = CliRunner().invoke(cli, ["--data", str(critical.data), "today"])

    assert printed.exit_code == 0
    lines = printed.stdout.splitlines()
    assert lines[0] == f"CAUTION: {CAUTION}"
    assert "1 critical case is not closed" in printed.stdout
    assert lines[-1].startswith("Since the figures published on")
    # Said once, by its name.
    assert printed.stdout.count("Fuse open 0 → 1") == 1
    assert "fuse_open" not in printed.stdout


@pytest.mark.parametrize("page", ["life", "quality"])
def test_every_report_page_says_what_changed(open_page, read, critical, page):
    shown = read(open_page(page, of=critical))

    assert "Since the figures published on" in shown
    assert "2 more cases" in shown


def test_a_later_publish_is_seen_without_a_restart(open_page, read, tmp_path):
    place = Place(tmp_path)
    welded = case("R1", "U/001", confirmed_mode="contactor_welded")
    published(tmp_path, UNITS, [welded])
    assert FIRST in read(open_page("today", of=place))

    published(tmp_path, UNITS, [welded], as_of=AS_OF + dt.timedelta(days=1))

    shown = read(open_page("today", of=place))
    assert "no more cases" in shown
    assert "1 critical case is not closed; 0 are new" in shown
