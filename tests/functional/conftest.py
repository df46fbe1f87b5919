"""How a test opens a page and reads it."""

import dataclasses
import re
from pathlib import Path

import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

from analytics.rollup.snapshot import current_snapshot
from dashboard.filters import Filters
from dashboard.place import VARIABLE
from dashboard.queries import alarm_units as units_query
from dashboard.queries import watch as watch_query
from dashboard.queries.suggestion_report import suggestion_report
from dashboard.queries.trained import trained_suggester
from dashboard.settings import Place
from tests import scored_fleet, small_fleet
from tests import watch_answers as made

PAGES = Path(__file__).parents[2] / "dashboard" / "app_pages"
SECONDS = 60  # the first page of a run loads every library


@pytest.fixture
def open_page(place, monkeypatch):
    """Return a function that runs one page, by its address, on a data folder."""

    def opened(page, *, of=place, **words):
        monkeypatch.setenv(VARIABLE, str(of.data))
        test = AppTest.from_file(str(PAGES / f"{page}.py"), default_timeout=SECONDS)
        for name, value in words.items():
            test.query_params[name] = value
        test.run()
        assert not test.exception
        return test

    return opened


@pytest.fixture
def read():
    """Return a function that gives all text of a page, as one string."""

    def text_of(page):
        kinds = (
            "title",
            "header",
            "subheader",
            "caption",
            "markdown",
            "info",
            "warning",
            "error",
        )
        shown = "\n".join(
            str(part.value) for kind in kinds for part in getattr(page, kind)
        )
        return re.sub(r"\\([\W_])", r"\1", shown)  # as a reader sees it

    return text_of


@pytest.fixture
def table_with():
    """Return a function that gives the first table of a page with these columns."""

    def found(page, *columns):
        for table in page.dataframe:
            if set(columns) <= set(table.value.columns):
                return table.value
        raise AssertionError(f"no table of the page has {', '.join(columns)}")

    return found


@pytest.fixture
def show_watch(open_page, snapshot, monkeypatch):
    """Return a function that opens the page on an answer of one's own."""

    def shown(*rows, words=None, before="2026-05-30-00000000", filters=None, **more):
        answer = made.answer(snapshot, rows, filters=filters, **more)
        about = dataclasses.replace(answer.about, previous=before)
        answer = dataclasses.replace(answer, about=about)
        for module in (watch_query, units_query):
            monkeypatch.setattr(module, "watch", lambda _place, _filters: answer)
        st.cache_data.clear()
        return open_page("watch", **(words or {}))

    yield shown
    st.cache_data.clear()


@pytest.fixture(scope="session")
def taught(tmp_path_factory):
    """Return a folder with 275 confirmed returns of 300, published."""
    found = Place(tmp_path_factory.mktemp("scored"))
    small_fleet.published(found.data, *scored_fleet.rows())
    return found


@pytest.fixture
def figures(taught):
    return current_snapshot(taught.published)


@pytest.fixture(scope="session")
def evaluation(taught):
    folder = current_snapshot(taught.published).suggester_folder
    return trained_suggester(folder).evaluation


@pytest.fixture
def scores(figures):
    return suggestion_report(figures, Filters())
