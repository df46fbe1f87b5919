"""The watch by HTTP: the document of the command, and a feed for feed readers."""

import datetime as dt
import json
import uuid
import xml.etree.ElementTree as ET

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from dashboard.api import watch as route
from dashboard.api.app import api
from dashboard.cli.main import cli
from dashboard.filters import Filters
from dashboard.place import VARIABLE, place_in_use
from dashboard.queries import watch_feed
from dashboard.queries.alarm_units import alarm_units
from dashboard.queries.watch import watch
from ingest import store
from ingest.alarms import note_alarm
from tests.small_files import ingested
from tests.watch_answers import (
    ABOUT,
    LOT,
    OLD,
    SUPPLIER,
    alarm_row,
    store_with,
    watch_answer,
)

ATOM = "{http://www.w3.org/2005/Atom}"
NOTED = dt.datetime(2025, 5, 2, 15, 4, 5)  # noqa: DTZ001 - the store keeps UTC without a zone


@pytest.fixture
def client(tmp_path, monkeypatch):
    monkeypatch.setenv(VARIABLE, str(tmp_path))
    store_with(tmp_path, SUPPLIER, LOT, OLD)
    return TestClient(api, raise_server_exceptions=False)


@pytest.fixture
def answering(monkeypatch):
    """Return a function that sets what the watch answers."""

    def answers(*rows, **more):
        def answer(_place, filters, *, only_new=False):
            return watch_answer(rows, filters=filters, only_new=only_new, **more)

        for module in (route, watch_feed):
            monkeypatch.setattr(module, "watch", answer)

    return answers


def feed_of(response):
    assert response.status_code == 200
    assert response.headers["content-type"] == "application/atom+xml"
    return ET.fromstring(response.content)  # noqa: S314 - our own answer


def text(element, name):
    (found,) = element.findall(f"{ATOM}{name}")
    return found.text


def links(element):
    found = element.findall(f"{ATOM}link")
    return {link.get("rel", "alternate"): link.get("href") for link in found}


def moment(words):
    # RFC 3339, which RFC 4287 asks for (section 3.3); capital T and Z.
    assert words.endswith("Z")
    return dt.datetime.fromisoformat(words.removesuffix("Z"))


def test_the_route_gives_the_document_of_the_query(client, answering):
    answering(alarm_row(SUPPLIER, state="acknowledged"), alarm_row(LOT))

    every = client.get("/watch").json()
    new = client.get("/watch", params={"new": "true", "region": "N"}).json()

    assert [row["alarm"] for row in every["rows"]] == [SUPPLIER.alarm, LOT.alarm]
    assert every["false_alarms_per_year"] == 2.0
    assert [row["alarm"] for row in new["rows"]] == [LOT.alarm]
    assert new["filters"] == {"region": ["N"]}


@pytest.mark.parametrize("address", ["/watch", "/watch.atom"])
def test_an_unknown_word_is_a_problem(client, answering, address):
    answering()

    response = client.get(address, params={"colour": "red"})

    assert response.status_code == 422
    assert client.post(address).status_code == 405


def test_page_route_and_command_ask_the_same_query(place, monkeypatch):
    monkeypatch.setenv(VARIABLE, str(place.data))
    client = TestClient(api)
    expected = watch(place_in_use(), Filters()).document()

    printed = CliRunner().invoke(cli, ["--data", str(place.data), "watch", "--json"])
    exported = client.get("/export/alarm-units", params={"format": "json"})

    assert client.get("/watch").json() == expected
    assert json.loads(printed.stdout) == expected
    rows = alarm_units(place, Filters()).rows
    assert len(exported.json()["rows"]) == len(rows)


def test_the_feed_has_what_rfc_4287_requires(client, answering):
    answering(
        alarm_row(SUPPLIER), alarm_row(LOT), past=[alarm_row(OLD, state="closed")]
    )

    feed = feed_of(client.get("/watch.atom"))

    # Section 4.1.1: exactly one id, title, updated; an author; a link to itself.
    assert feed.tag == f"{ATOM}feed"
    assert uuid.UUID(text(feed, "id"))
    assert text(feed, "title") == "mendfleet: recurring failures"
    assert moment(text(feed, "updated"))
    (author,) = feed.findall(f"{ATOM}author")
    assert text(author, "name") == "mendfleet"
    assert links(feed) == {
        "alternate": "http://testserver/watch",
        "self": "http://testserver/watch.atom",
    }
    # Section 4.1.2: exactly one id, title, updated; a link or content; a summary.
    entries = feed.findall(f"{ATOM}entry")
    assert len(entries) == 3
    for entry in entries:
        assert text(entry, "id").startswith("urn:uuid:")
        assert text(entry, "title")
        assert moment(text(entry, "updated")) >= moment(text(entry, "published"))
        assert text(entry, "summary")
        assert set(links(entry)) == {"alternate"}
        assert all(one.get("term") for one in entry.findall(f"{ATOM}category"))
    ids = [text(entry, "id") for entry in entries]
    assert len({*ids, text(feed, "id")}) == 4


def test_an_entry_says_what_where_and_that_it_is_no_verdict(client, answering):
    answering(alarm_row(SUPPLIER))

    feed = feed_of(client.get("/watch.atom"))

    entry = feed.find(f"{ATOM}entry")
    assert text(entry, "title") == (
        "Pilot line of the handle open, cable supplier Ostrel: new"
    )
    assert "14 failures in 3 months where about 4.9 were" in text(entry, "summary")
    assert "compare the joints. Severity: degraded." in text(entry, "summary")
    assert links(entry)["alternate"] == (
        f"http://testserver/watch?alarm={SUPPLIER.alarm}"
    )
    assert "no entry is a verdict" in text(feed, "subtitle")
    assert "about 2 false alarms a year" in text(feed, "subtitle")


def test_no_case_serial_or_note_is_in_the_feed(client, answering):
    answering(alarm_row(SUPPLIER, state="acknowledged", note="Wanda asked"))

    content = client.get("/watch.atom").content

    assert b"SECRET" not in content
    assert b"Wanda" not in content


def test_a_note_updates_an_entry_and_its_id_stays(client, answering, tmp_path):
    answering(alarm_row(SUPPLIER), alarm_row(LOT))
    before = feed_of(client.get("/watch.atom"))
    assert text(before, "updated") == "2025-04-02T00:00:00Z"

    note_alarm(
        tmp_path / "store.duckdb",
        SUPPLIER.alarm,
        state="closed",
        text="x",
        noted_at=NOTED,
    )
    after = feed_of(client.get("/watch.atom"))

    first, second = after.findall(f"{ATOM}entry")
    assert "Ostrel" in text(first, "title")
    assert text(first, "updated") == text(after, "updated") == "2025-05-02T15:04:05Z"
    assert text(second, "updated") == text(first, "published") == "2025-04-02T00:00:00Z"
    assert {text(one, "id") for one in before.findall(f"{ATOM}entry")} == {
        text(first, "id"),
        text(second, "id"),
    }


def test_markup_and_control_characters_stay_text(client, answering):
    answering(
        alarm_row(LOT, sentence="a \x0b \x00 < & ]]> \U0001f600", failure="<b>x</b>")
    )

    entry = feed_of(client.get("/watch.atom")).find(f"{ATOM}entry")

    assert text(entry, "title") == "<b>x</b>, lot L<7> & co: new"
    assert text(entry, "summary").startswith("a \ufffd \ufffd < & ]]> \U0001f600 ")


def test_an_alarm_that_the_store_does_not_have_yet_waits(client, answering):
    unrecorded = alarm_row(LOT, first_seen_on=None, first_seen_snapshot=None)
    answering(unrecorded)

    feed = feed_of(client.get("/watch.atom"))

    assert feed.findall(f"{ATOM}entry") == []
    assert moment(text(feed, "updated")) == ABOUT.published_at


def test_a_feed_under_filters_is_another_feed_of_the_same_entries(client, answering):
    answering(alarm_row(LOT))

    every = feed_of(client.get("/watch.atom"))
    some = feed_of(client.get("/watch.atom", params={"region": "N"}))

    assert text(every, "id") != text(some, "id")
    assert text(every.find(f"{ATOM}entry"), "id") == text(
        some.find(f"{ATOM}entry"), "id"
    )
    assert links(some)["self"] == "http://testserver/watch.atom?region=N"


def test_two_fleets_never_share_an_id(client, answering, tmp_path, monkeypatch):
    answering(alarm_row(LOT))
    one = feed_of(client.get("/watch.atom"))
    (tmp_path / "two").mkdir()
    monkeypatch.setenv(VARIABLE, str(store_with(tmp_path / "two", LOT)))

    two = feed_of(client.get("/watch.atom"))

    assert text(one, "id") != text(two, "id")
    assert text(one.find(f"{ATOM}entry"), "id") != text(two.find(f"{ATOM}entry"), "id")


def test_an_invented_fleet_is_named_so_in_every_title(client, answering):
    answering(alarm_row(LOT), invented=True)

    feed = feed_of(client.get("/watch.atom"))

    assert text(feed, "title").endswith("(invented data)")
    assert text(feed.find(f"{ATOM}entry"), "title").endswith("(invented data)")


def test_before_the_first_watch_and_while_the_store_is_busy_try_again_later(
    client, answering, tmp_path, monkeypatch
):
    answering(can_watch=False, why_not="The records reach over 5 months.")
    with store.open_for_writing(tmp_path / "store.duckdb"):
        assert client.get("/watch.atom").status_code == 503
    (tmp_path / "two").mkdir()
    ingested(tmp_path / "two", "serial,model\nUX-777,A\n")
    monkeypatch.setenv(VARIABLE, str(tmp_path / "two"))

    response = client.get("/watch.atom")

    assert response.status_code == 503
    assert response.json()["detail"].endswith("The records reach over 5 months.")
