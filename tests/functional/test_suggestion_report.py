"""The report about suggestions: query, route, command, tables and page agree."""

import json

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from analytics.statistics.intervals import binomial_interval
from dashboard.api.app import api
from dashboard.cli.main import cli
from dashboard.filters import Filters
from dashboard.place import VARIABLE
from dashboard.queries.suggestion_report import suggestion_report
from dashboard.queries.suggestion_report_parts import PARTS, part
from ingest.errors import UsageError


def measure(answer, name, of="suggester"):
    (row,) = [r for r in answer.rows if (r["measure"], r["of"]) == (name, of)]
    return row


def test_every_share_has_its_count_and_wilsons_limits(scores):
    shares = [row for row in scores.rows if row["n"] is not None and row["n_of"]]

    assert len(shares) == 7
    for row in shares:
        assert row["value"] == row["n"] / row["n_of"]
        assert (row["low"], row["high"]) == binomial_interval(row["n"], row["n_of"])


def test_the_scores_are_those_kept_with_the_suggester(scores, evaluation):
    assert measure(scores, "top_1")["value"] == evaluation.suggester.top_1
    assert measure(scores, "top_3")["n"] == evaluation.suggester.n_top_3
    shares = measure(scores, "log_loss", "class_shares")
    assert shares["value"] == evaluation.class_shares.log_loss
    assert shares["low"] < shares["value"] < shares["high"]
    error = measure(scores, "calibration_error")
    assert error["by_chance"] == evaluation.suggester.calibration_by_chance
    assert error["n_of"] == evaluation.n_scored


def test_the_cases_of_all_bins_modes_and_months_are_those_scored(scores):
    n = scores.more["n_scored"]
    n_right = measure(scores, "top_1")["n"]

    for name, cases in (
        ("calibration", "n_cases"),
        ("modes", "n_cases"),
        ("months", "n_scored"),
    ):
        rows = scores.more[name]
        assert sum(row[cases] for row in rows) == n
        assert sum(row["n_right"] for row in rows) == n_right
    last = scores.more["coverage"][-1]
    assert (last["coverage"], last["n_answered"], last["n_wrong"]) == (
        1,
        n,
        n - n_right,
    )


def test_months_tell_how_many_have_no_confirmed_mode(scores, figures):
    months = scores.more["months"]

    assert sum(row["n_cases"] for row in months) <= figures.about.n_cases
    assert sum(row["n_unlabelled"] for row in months) == scores.more["n_unlabelled"]
    for row in months:
        assert row["low_unlabelled"] <= row["share_unlabelled"]
        assert row["share_unlabelled"] <= row["high_unlabelled"]
        assert (row["share"] is None) == (row["n_scored"] == 0)


def test_modes_come_with_most_cases_first(scores):
    counts = [row["n_cases"] for row in scores.more["modes"]]

    assert counts == sorted(counts, reverse=True)
    assert all(row["label"] != row["mode"] for row in scores.more["modes"])


def test_route_and_command_give_the_same_document(scores, taught, monkeypatch):
    monkeypatch.setenv(VARIABLE, str(taught.data))
    expected = json.loads(json.dumps(scores.document()))

    with TestClient(api) as client:
        assert client.get("/suggestions").json() == expected
    asked = ["--data", str(taught.data), "quality", "--suggestions", "--json"]
    assert json.loads(CliRunner().invoke(cli, asked).stdout) == expected


@pytest.mark.parametrize("name", PARTS)
def test_every_table_is_exported_as_the_answer_holds_it(
    scores, taught, monkeypatch, name
):
    monkeypatch.setenv(VARIABLE, str(taught.data))

    with TestClient(api) as client:
        exported = client.get(f"/export/suggestions-{name}", params={"format": "json"})
        as_csv = client.get(f"/export/suggestions-{name}")

    assert exported.json() == part(scores, name).document()
    assert len(as_csv.text.splitlines()) == 1 + len(scores.more[name])


def test_the_command_prints_the_sentence_and_the_tables(scores, taught):
    asked = ["--data", str(taught.data), "quality", "--suggestions"]

    shown = CliRunner().invoke(cli, asked).stdout

    assert scores.more["sentence"] in shown
    assert "how often each occurs" in shown
    assert "by chance up to" in shown
    assert str(scores.more["modes"][0]["mode"]) in shown


def test_filters_are_refused_with_the_reason(figures, taught, monkeypatch):
    with pytest.raises(UsageError, match="scored as a whole"):
        suggestion_report(figures, Filters(model=["Brindlow 32"]))
    monkeypatch.setenv(VARIABLE, str(taught.data))
    with TestClient(api) as client:
        refused = client.get("/suggestions", params={"model": "Brindlow 32"})
    assert refused.status_code == 422
