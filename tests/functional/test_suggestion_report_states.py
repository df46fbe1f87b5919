"""The Suggestion report where there is little to score, and its page and charts."""

import dataclasses
import sys

import numpy as np
import pytest
import streamlit as st

from analytics.advice.evaluation_curves import by_cause, calibration_curve
from analytics.advice.suggest import FaultSuggester
from analytics.errors import InsufficientDataError
from analytics.rollup.snapshot import current_snapshot
from dashboard.cli.main import main
from dashboard.drawing import pictures
from dashboard.drawing.charts_suggestions import calibration_chart, coverage_chart
from dashboard.filters import Filters
from dashboard.queries import suggestion_report as query
from dashboard.queries import suggestion_report_words as words
from dashboard.queries.suggestion_report import suggestion_report
from dashboard.queries.suggestion_report_parts import PARTS
from dashboard.queries.trained import trained_suggester
from dashboard.settings import Place
from ingest.errors import NotPublishedError
from tests import small_fleet


def measure(answer, name, of="suggester"):
    (row,) = [r for r in answer.rows if (r["measure"], r["of"]) == (name, of)]
    return row


def small(tmp_path, *, n_confirmed=1, mode="control_board_dead"):
    place = Place(tmp_path)
    units = [small_fleet.unit(f"A{number:03}") for number in range(n_confirmed + 5)]
    cases = [
        small_fleet.case(f"R{number:03}", f"A{number:03}", confirmed_mode=mode)
        for number in range(n_confirmed)
    ]
    small_fleet.published(place.data, units, cases)
    return place


def test_too_few_confirmed_cases_are_counted(tmp_path, open_page, read):
    place = small(tmp_path, n_confirmed=3)

    with pytest.raises(InsufficientDataError) as error:
        suggestion_report(current_snapshot(place.published), Filters())
    assert (error.value.needed, error.value.found) == (200, 3)
    shown = read(open_page("suggestions", of=place))
    assert "Needed: at least 200 confirmed cases. Found: 3; 197 more" in shown
    assert "expert table alone" in shown


def test_without_a_confirmed_case_page_and_command_say_so(
    tmp_path, open_page, read, monkeypatch, capsys
):
    place = small(tmp_path, n_confirmed=0)

    shown = read(open_page("suggestions", of=place))
    asked = ["--data", str(tmp_path), "quality", "--suggestions"]
    monkeypatch.setattr(sys, "argv", ["mendfleet", *asked])
    with pytest.raises(SystemExit) as stopped:
        main()

    assert "Found: 0; 200 more would be enough" in shown
    assert stopped.value.code == 15
    assert "confirmed cases" in capsys.readouterr().err


def test_without_a_trained_suggester_the_remedy_is_named(tmp_path, open_page, read):
    place = small(tmp_path)
    folder = current_snapshot(place.published).suggester_folder
    (folder / "suggester.json").unlink()
    trained_suggester.cache_clear()

    with pytest.raises(NotPublishedError, match="no trained suggester"):
        suggestion_report(current_snapshot(place.published), Filters())
    shown = read(open_page("suggestions", of=place))
    assert "`mendfleet publish --train`" in shown


def test_one_mode_alone_is_told(tmp_path):
    place = small(tmp_path, n_confirmed=220)

    found = suggestion_report(current_snapshot(place.published), Filters())

    assert any("Only one mode" in note for note in found.more["notes"])
    assert any("Only 33 cases are scored" in note for note in found.more["notes"])
    assert [row["mode"] for row in found.more["modes"]] == ["control_board_dead"]


def scored(evaluation, sure, right):
    """Return an evaluation in which answers of one confidence were right or not."""
    sure, right = np.asarray(sure), np.asarray(right)
    p = np.column_stack([sure, 1 - sure])
    n_right = int(right.sum())
    scores = dataclasses.replace(
        evaluation.suggester,
        top_1=float(right.mean()),
        n_top_1=n_right,
        calibration_error=abs(float(right.mean() - sure.mean())),
        calibration_by_chance=0.05,
    )
    return dataclasses.replace(
        evaluation,
        suggester=scores,
        n_scored=len(sure),
        calibration=calibration_curve(sure, right),
        causes=by_cause(p, np.where(right, 0, 1)),
    )


def test_shares_that_are_too_high_or_too_low_are_called_so(evaluation):
    right = np.arange(200) % 10 < 7

    high = words.calibration(scored(evaluation, np.full(200, 0.9), right))
    low = words.calibration(scored(evaluation, np.full(200, 0.55), right))
    fit = words.calibration(scored(evaluation, np.full(200, 0.7), right))

    assert "too high on the whole (mean 90 %, right 70 %)" in high
    assert "too low on the whole (mean 55 %, right 70 %)" in low
    assert "do not show that the shares are wrong" in fit


def test_what_silence_saves_is_said_with_counts(evaluation):
    some = dataclasses.replace(
        evaluation, n_scored=100, n_answered=80, n_answered_right=60, n_silent_right=4
    )
    none = dataclasses.replace(some, n_answered=0, n_answered_right=0)
    every = dataclasses.replace(some, n_answered=100, n_silent_right=0)

    assert "80 % (80; 95 % interval 71 to 87 %)" in words.answered(some)
    assert "Of the 20 others it would have been 20 % (4;" in words.answered(some)
    assert "In none of the cases" in words.answered(none)
    assert "others" not in words.answered(every)


def test_many_repeated_texts_are_told(evaluation):
    repeated = dataclasses.replace(evaluation, n_scored=200, n_repeated_texts=60)

    assert any("the very words" in note for note in words.notes(repeated))
    fewer = dataclasses.replace(repeated, n_repeated_texts=3)
    assert not any("the very words" in note for note in words.notes(fewer))


def test_the_page_shows_the_answer_its_tables_and_where_to_get_them(
    open_page, read, scores, taught
):
    page = open_page("suggestions", of=taught)
    shown = read(page)

    assert scores.more["sentence"] in shown
    assert scores.more["calibration_sentence"] in shown
    assert "/api/v1/suggestions" in shown
    for name in PARTS:
        assert f"/api/v1/export/suggestions-{name}" in shown
    sizes = [len(table.value) for table in page.dataframe]
    assert sizes == [
        len(scores.rows),
        *(len(scores.more[name]) for name in PARTS),
    ]


def test_a_file_without_dates_has_no_months_and_the_page_says_so(
    open_page, read, scores, taught, monkeypatch
):
    without = dataclasses.replace(scores, more={**scores.more, "months": []})
    monkeypatch.setattr(query, "suggestion_report", lambda *_: without)
    st.cache_data.clear()

    shown = read(open_page("suggestions", of=taught))

    st.cache_data.clear()
    assert "nothing is known by month" in shown


@pytest.mark.parametrize(
    ("name", "drawn", "axis"),
    [
        ("calibration", calibration_chart, "of these right (%)"),
        ("coverage", coverage_chart, "of these wrong (%)"),
    ],
)
def test_charts_carry_their_numbers_and_can_be_taken_along(scores, name, drawn, axis):
    chart = drawn(scores.more[name])
    svg = pictures.as_svg(pictures.Picture(chart, "A title"), scores).decode("utf-8")

    assert axis in svg
    drawn_rows = [row for rows in chart.to_dict()["datasets"].values() for row in rows]
    for row in scores.more[name]:
        assert any(row["low"] * 100 == drawn_row.get("low") for drawn_row in drawn_rows)


def test_a_suggester_loaded_again_tells_the_same(evaluation, figures, tmp_path):
    suggester = FaultSuggester.load(figures.suggester_folder)
    suggester.save(tmp_path)

    assert repr(FaultSuggester.load(tmp_path).evaluation) == repr(evaluation)
