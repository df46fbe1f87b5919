"""A browser is told what is new since the figures that it was shown before."""

import datetime as dt

import pytest
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.responses import PlainTextResponse
from starlette.routing import Route
from starlette.testclient import TestClient

from analytics.rollup.publish import publish
from analytics.rollup.snapshot import current_snapshot
from dashboard.filters import Filters
from dashboard.page_parts import watch_visit
from dashboard.place import VARIABLE
from dashboard.queries.watch import watch
from dashboard.queries.watch_seen import new_alarms
from dashboard.settings import Place
from dashboard.visits import COOKIE, NoteVisit, noted, shown_before
from tests import recurring_fleet
from tests.small_fleet import published

JANUARY, MARCH = "2025-01-31-0a1b2c3d", "2025-03-31-4e5f6a7b"
PAGE = {"accept": "text/html,*/*;q=0.8"}


@pytest.mark.parametrize(
    ("cookie", "before"),
    [
        (None, None),
        ("", None),
        (f"{MARCH}.", None),  # a second look at the same figures
        (f"{MARCH}.{JANUARY}", JANUARY),
        (JANUARY, JANUARY),  # figures published while the page was open
        (f"{JANUARY}.{MARCH}", JANUARY),
        ("../../etc/passwd", None),
        (f"{MARCH}.<script>", None),
    ],
)
def test_what_a_browser_saw_before_the_current_figures(cookie, before):
    assert shown_before(cookie, MARCH) == before


def test_figures_are_noted_once_and_those_before_them_kept():
    first = noted(None, JANUARY)
    assert first == f"{JANUARY}."
    assert noted(first, JANUARY) is None
    second = noted(first, MARCH)
    assert second == f"{MARCH}.{JANUARY}"
    assert shown_before(second, MARCH) == JANUARY


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    found = tmp_path_factory.mktemp("visited")
    units, cases = recurring_fleet.units(), recurring_fleet.cases()
    published(found, units, cases, as_of=dt.date(2024, 12, 31))
    publish(found / "store.duckdb", found / "published", as_of=dt.date(2025, 3, 31))
    return found


@pytest.fixture
def client(folder, monkeypatch):
    monkeypatch.setenv(VARIABLE, str(folder))
    routes = [Route("/{rest:path}", lambda _: PlainTextResponse("a page"))]
    return TestClient(Starlette(routes=routes, middleware=[Middleware(NoteVisit)]))


def test_a_page_leaves_the_figures_in_a_cookie_of_this_server_alone(client, folder):
    answer = client.get("/watch", headers=PAGE)
    current = current_snapshot(folder / "published").about.snapshot
    said = answer.headers["set-cookie"]
    assert said.startswith(f"{COOKIE}={current}.;")
    assert "HttpOnly" in said
    assert "SameSite=Strict" in said
    again = client.get("/today", headers=PAGE)
    assert "set-cookie" not in again.headers


def test_data_and_files_leave_nothing(client):
    assert "set-cookie" not in client.get("/api/v1/watch").headers
    assert "set-cookie" not in client.post("/watch", headers=PAGE).headers


def test_without_published_figures_nothing_is_noted(client, monkeypatch, tmp_path):
    monkeypatch.setenv(VARIABLE, str(tmp_path))
    assert "set-cookie" not in client.get("/watch", headers=PAGE).headers


def test_alarms_that_the_figures_seen_did_not_have_are_new(folder):
    rows = watch(Place(folder), Filters()).rows
    snapshot = current_snapshot(folder / "published")
    found = new_alarms(snapshot, snapshot.about.previous, rows)
    assert found.as_of == dt.date(2024, 12, 31)
    assert rows
    assert list(found.rows) == list(rows)  # nothing had risen by then
    same = new_alarms(snapshot, snapshot.about.snapshot, rows)
    assert list(same.rows) == []
    assert new_alarms(snapshot, "2020-01-01-00000000", rows) is None


@pytest.mark.parametrize(
    ("seen", "said"),
    [
        ("previous", "as of 2024-12-31): 1 new alarm: Pilot conductor open at the"),
        ("snapshot", "as of 2025-03-31): no new alarm."),
    ],
)
def test_the_page_names_what_is_new(folder, open_page, read, monkeypatch, seen, said):
    about = current_snapshot(folder / "published").about
    monkeypatch.setattr(watch_visit, "shown_before", lambda *_: getattr(about, seen))
    shown = read(open_page("watch", of=Place(folder)))
    assert "Since your last visit (figures published on " in shown
    assert said in shown


def test_a_first_visit_is_told_nothing_of_the_kind(folder, open_page, read):
    shown = read(open_page("watch", of=Place(folder)))
    assert "Since your last visit" not in shown
