"""Charts draw what the query answered: nothing rounded, nothing left out unsaid."""

import pytest

from dashboard.drawing import charts
from dashboard.filters import Filters
from dashboard.queries.modes import modes


def layers(chart):
    """Return the layers of a chart as drawn, each with its own data."""
    drawn = chart.to_dict()
    data = drawn["datasets"]
    return [
        layer | {"rows": data[layer.get("data", drawn.get("data"))["name"]]}
        for layer in drawn["layer"]
    ]


def test_bars_and_whiskers_hold_share_and_interval_in_percent(snapshot):
    rows = modes(snapshot, Filters()).rows
    failures = [row for row in rows if row["is_failure"]]

    bars = layers(charts.modes_chart(failures))[0]

    assert len(bars["rows"]) == min(len(failures), charts.SHOWN_BARS)
    for drawn, row in zip(bars["rows"], failures, strict=False):
        assert drawn["share"] == pytest.approx(100 * row["share"])
        assert drawn["low"] == pytest.approx(100 * row["low"])
        assert drawn["high"] == pytest.approx(100 * row["high"])
    assert bars["encoding"]["x"]["title"] == "share of confirmed cases (%)"


def test_a_critical_mode_is_marked_by_a_word_and_not_by_colour_alone(snapshot):
    failures = [row for row in modes(snapshot, Filters()).rows if row["is_failure"]]

    drawn = layers(charts.modes_chart(failures))[0]["rows"]

    for bar, row in zip(drawn, failures, strict=False):
        is_critical = row["severity"] == "critical"
        assert ("critical" in bar["beside"]) == is_critical
        assert (bar["colour"] == charts.ATTENTION) == is_critical


def test_counts_are_drawn_with_the_number_beside():
    rows = [{"name": "missing", "n_rows": 1200}, {"name": "bad date", "n_rows": 1}]

    bars = layers(charts.counts_chart(rows, name="name", count="n_rows", axis="rows"))

    assert [row["beside"] for row in bars[0]["rows"]] == ["1\u202f200", "1"]


def test_a_month_that_is_not_complete_is_hollow_and_says_so():
    rows = [
        {"month": "2026-01", "n_received": 4, "is_complete": True},
        {"month": "2026-02", "n_received": 3, "is_complete": False},
    ]

    drawn = layers(charts.months_chart(rows))[0]["rows"]

    assert [bar["fill"] for bar in drawn] == [charts.OBSERVED, "transparent"]
    assert [bar["beside"] for bar in drawn] == ["4", "3, not complete"]


def test_months_stand_in_the_order_of_time_also_where_one_has_no_returns():
    rows = [
        {"month": f"2026-0{n}", "n_received": n % 2, "is_complete": True}
        for n in (1, 2, 3)
    ]

    drawn = layers(charts.months_chart(rows))

    months = ["2026-01", "2026-02", "2026-03"]
    assert [layer["encoding"]["y"]["sort"] for layer in drawn] == [months, months]
