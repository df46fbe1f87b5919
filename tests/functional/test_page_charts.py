"""Charts draw what the query answered: nothing rounded, nothing left out unsaid."""

import pytest

from dashboard.drawing import charts
from dashboard.drawing.charts_modes import groups_chart, pareto_chart
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


def test_the_bars_hold_the_counts_and_the_running_share(snapshot):
    failures = [row for row in modes(snapshot, Filters()).rows if row["is_failure"]]

    bars = layers(pareto_chart(failures))[0]

    assert len(bars["rows"]) == min(len(failures), charts.SHOWN_BARS)
    for drawn, row in zip(bars["rows"], failures, strict=False):
        assert drawn["n_cases"] == row["n_cases"]
        assert drawn["from"] == pytest.approx(row["low"] * row["n_confirmed"])
        assert drawn["to"] == pytest.approx(row["high"] * row["n_confirmed"])
        is_critical = row["severity"] == "critical"
        assert ("critical" in drawn["beside"]) == is_critical
        assert (drawn["colour"] == charts.ATTENTION) == is_critical
        assert drawn["beside"].endswith(f"so far {100 * row['running']:.0f} %")
    assert bars["encoding"]["x"]["title"] == "confirmed cases"


def test_dots_hold_the_rate_at_like_age_and_cut_whiskers_say_so():
    row = {
        "value": None, "crude": 20.0, "standardised": 10.0, "low": 5.0, "high": 900.0,
        "n_failures": 1,
    }  # fmt: skip

    (drawn,) = layers(groups_chart([row]))[0]["rows"]

    assert (drawn["name"], drawn["end"]) == ("not recorded", 50.0)
    assert drawn["beside"] == "1 failure (to 900)"


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
