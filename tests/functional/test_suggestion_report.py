"""The report about suggestions: query, route, command, tables and page agree."""

import json

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from analytics.rollup.snapshot import current_snapshot
from analytics.statistics.intervals import binomial_interval
from dashboard.api.app import api
from dashboard.cli.main import cli
from dashboard.filters import Filters
from dashboard.place import VARIABLE
from dashboard.queries.suggestion_report import suggestion_report
from dashboard.queries.suggestion_report_parts import PARTS, part
from dashboard.queries.trained import trained_suggester
from dashboard.settings import Place
from ingest.errors import UsageError
from tests import scored_fleet, small_fleet


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """Return a folder with 275 confirmed returns of 300, published."""
    place = Place(tmp_path_factory.mktemp("scored"))
    small_fleet.published(place.data, *scored_fleet.rows())
    return place


@pytest.fixture
def snapshot(place):
    return current_snapshot(place.published)


@pytest.fixture(scope="module")
def evaluation(place):
    folder = current_snapshot(place.published).suggester_folder
    return trained_suggester(folder).evaluation


@pytest.fixture
def answer(snapshot):
    return suggestion_report(snapshot, Filters())


def measure(answer, name, of="suggester"):
    (row,) = [r for r in answer.rows if (r["measure"], r["of"]) == (name, of)]
    return row


def test_every_share_has_its_count_and_wilsons_limits(answer):
    shares = [row for row in answer.rows if row["n"] is not None and row["n_of"]]

    assert len(shares) == 7
    for row in shares:
        assert row["value"] == row["n"] / row["n_of"]
        assert (row["low"], row["high"]) == binomial_interval(row["n"], row["n_of"])


def test_the_scores_are_those_kept_with_the_suggester(answer, evaluation):
    assert measure(answer, "top_1")["value"] == evaluation.suggester.top_1
    assert measure(answer, "top_3")["n"] == evaluation.suggester.n_top_3
    shares = measure(answer, "log_loss", "class_shares")
    assert shares["value"] == evaluation.class_shares.log_loss
    assert shares["low"] < shares["value"] < shares["high"]
    error = measure(answer, "calibration_error")
    assert error["by_chance"] == evaluation.suggester.calibration_by_chance
    assert error["n_of"] == evaluation.n_scored


def test_the_cases_of_all_bins_modes_and_months_are_those_scored(answer):
    n = answer.more["n_scored"]
    n_right = measure(answer, "top_1")["n"]

    for name, cases in (
        ("calibration", "n_cases"),
        ("modes", "n_cases"),
        ("months", "n_scored"),
    ):
        rows = answer.more[name]
        assert sum(row[cases] for row in rows) == n
        assert sum(row["n_right"] for row in rows) == n_right
    last = answer.more["coverage"][-1]
    assert (last["coverage"], last["n_answered"], last["n_wrong"]) == (
        1,
        n,
        n - n_right,
    )


def test_months_tell_how_many_have_no_confirmed_mode(answer, snapshot):
    months = answer.more["months"]

    assert sum(row["n_cases"] for row in months) <= snapshot.about.n_cases
    assert sum(row["n_unlabelled"] for row in months) == answer.more["n_unlabelled"]
    for row in months:
        assert row["low_unlabelled"] <= row["share_unlabelled"]
        assert row["share_unlabelled"] <= row["high_unlabelled"]
        assert (row["share"] is None) == (row["n_scored"] == 0)


def test_modes_come_with_most_cases_first(answer):
    counts = [row["n_cases"] for row in answer.more["modes"]]

    assert counts == sorted(counts, reverse=True)
    assert all(row["label"] != row["mode"] for row in answer.more["modes"])


def test_route_and_command_give_the_same_document(answer, place, monkeypatch):
    monkeypatch.setenv(VARIABLE, str(place.data))
    expected = json.loads(json.dumps(answer.document()))

    with TestClient(api) as client:
        assert client.get("/suggestions").json() == expected
    asked = ["--data", str(place.data), "quality", "--suggestions", "--json"]
    assert json.loads(CliRunner().invoke(cli, asked).stdout) == expected


@pytest.mark.parametrize("name", PARTS)
def test_every_table_is_exported_as_the_answer_holds_it(
    answer, place, monkeypatch, name
):
    monkeypatch.setenv(VARIABLE, str(place.data))

    with TestClient(api) as client:
        exported = client.get(f"/export/suggestions-{name}", params={"format": "json"})
        as_csv = client.get(f"/export/suggestions-{name}")

    assert exported.json() == part(answer, name).document()
    assert len(as_csv.text.splitlines()) == 1 + len(answer.more[name])


def test_the_command_prints_the_sentence_and_the_tables(answer, place):
    asked = ["--data", str(place.data), "quality", "--suggestions"]

    shown = CliRunner().invoke(cli, asked).stdout

    assert answer.more["sentence"] in shown
    assert "how often each occurs" in shown
    assert "by chance up to" in shown
    assert str(answer.more["modes"][0]["mode"]) in shown


def test_filters_are_refused_with_the_reason(snapshot, place, monkeypatch):
    with pytest.raises(UsageError, match="scored as a whole"):
        suggestion_report(snapshot, Filters(model=["Brindlow 32"]))
    monkeypatch.setenv(VARIABLE, str(place.data))
    with TestClient(api) as client:
        refused = client.get("/suggestions", params={"model": "Brindlow 32"})
    assert refused.status_code == 422
