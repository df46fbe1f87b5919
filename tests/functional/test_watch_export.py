"""Tables of one alarm: page, route and command write the same rows."""

import json
from urllib.parse import parse_qs, urlsplit

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from dashboard.api.app import api
from dashboard.cli.main import cli
from dashboard.page_parts import widgets
from dashboard.place import VARIABLE
from dashboard.queries import alarm_units as units_query
from dashboard.queries import tables
from dashboard.queries.watch_parts import of_alarm
from ingest.errors import NotFoundError, UsageError
from tests import watch_answers as made

NAME, OTHER, PAST = "2026-01-aaaaa", "2026-02-bbbbb", "2024-01-ccccc"
PARTS = ("series", "cases", "comparison", "lots")
TABLES = ("watch", "watch-past", *(f"watch-{name}" for name in PARTS), "alarm-units")


@pytest.fixture
def answer(snapshot, place, monkeypatch):
    """Let two alarms stand, and one be past, each with rows in every table."""
    names = (NAME, OTHER)
    found = made.answer(
        snapshot,
        [made.alarm(NAME, members=[NAME, "2026-01-ddddd"]), made.alarm(OTHER)],
        past=[made.alarm(PAST, state="closed")],
        cases=[made.case(name, f"W-{name}") for name in names],
        comparison=[made.compared(name) for name in names],
        lots=[
            {"alarm": name, "lot": "L1", "n_cases": 3, **made.FAMILY} for name in names
        ],
    )
    for module in (tables, units_query):
        monkeypatch.setattr(module, "watch", lambda _place, _filters: found)
    monkeypatch.setenv(VARIABLE, str(place.data))
    return found


@pytest.fixture
def client(answer):
    del answer
    return TestClient(api)


def export(place, *words):
    done = CliRunner().invoke(cli, ["--data", str(place.data), "export", *words])
    if done.exception and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done


@pytest.mark.parametrize("table", TABLES)
def test_route_and_command_give_the_rows_of_one_alarm(client, place, tmp_path, table):
    out = tmp_path / "t.json"
    alarm = PAST if table == "watch-past" else NAME

    sent = client.get(f"/export/{table}", params={"alarm": alarm, "format": "json"})
    export(place, table, "--out", str(out), "--alarm", alarm)
    whole = client.get(f"/export/{table}", params={"format": "json"}).json()["rows"]

    document = sent.json()
    assert json.loads(out.read_text("utf-8")) == document
    assert document["asked"] == {"alarm": alarm}
    assert document["rows"] == [row for row in whole if row["alarm"] == alarm]
    assert table == "alarm-units" or 0 < len(document["rows"]) <= len(whole)


@pytest.mark.parametrize("table", ["modes", "life", "watch-thin", "watch-early"])
def test_an_alarm_beside_another_table_is_refused(client, place, tmp_path, table):
    words = f"alarm cannot be asked of the table {table}"

    sent = client.get(f"/export/{table}", params={"alarm": NAME})

    assert sent.status_code == 422
    assert words in sent.json()["detail"]
    with pytest.raises(UsageError, match=words):
        export(place, table, "--out", str(tmp_path / "t.csv"), "--alarm", NAME)


@pytest.mark.parametrize("table", TABLES)
def test_an_alarm_that_is_not_there_is_not_found_and_the_nearest_named(client, table):
    sent = client.get(f"/export/{table}", params={"alarm": "2026-02-bbbbc"})

    assert sent.status_code == 404
    assert "There is no alarm 2026-02-bbbbc" in sent.json()["detail"]
    assert f"The nearest is {OTHER}." in json.dumps(sent.json())


def test_an_alarm_shown_with_another_leads_to_it(answer):
    with pytest.raises(NotFoundError) as refused:
        of_alarm(answer, "2026-01-ddddd")

    assert refused.value.hint == f"It is shown as part of {NAME}."


def test_where_no_alarm_stands_none_is_the_nearest(snapshot):
    with pytest.raises(NotFoundError) as refused:
        of_alarm(made.answer(snapshot), NAME)

    assert refused.value.hint == "No alarm stands."


def test_the_address_on_the_page_gives_the_rows_of_its_files(
    answer, client, show_watch, monkeypatch
):
    offered = {}
    offer = widgets.offer_files

    def seen(page, shown, *, words, table=None, picture=None):
        offered[table] = shown
        offer(page, shown, words=words, table=table, picture=picture)

    monkeypatch.setattr(widgets, "offer_files", seen)
    more = {name: answer.more[name] for name in PARTS}
    page = show_watch(*answer.rows, words={"alarm": NAME}, before=None, **more)

    links = [p.value for p in page.markdown if p.value.startswith("This table as data")]
    addresses = [urlsplit(link.split("[")[1].split("]")[0]) for link in links]
    names = [address.path.removeprefix("/api/v1/export/") for address in addresses]
    assert set(names) >= {f"watch-{name}" for name in PARTS}
    for name, address in zip(names, addresses, strict=True):
        assert parse_qs(address.query) == {"alarm": [NAME], "format": ["json"]}
        sent = client.get(f"/export/{name}?{address.query}").json()
        assert sent["rows"] == offered[name].document()["rows"]
        assert sent["asked"] == offered[name].document()["asked"]
