"""Charts draw what the query answered: nothing rounded, nothing left out unsaid."""

import numpy as np
import pytest

from analytics.statistics.distributions import fit_life
from dashboard import charts
from dashboard.filters import Filters
from dashboard.queries.life import DISTRIBUTIONS, life
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


def test_the_curve_starts_at_age_0_and_ends_where_the_query_ends(snapshot):
    answer = life(snapshot, Filters())

    steps = layers(charts.life_chart(answer))[1]["rows"]

    assert (steps[0]["age"], steps[0]["failed"]) == (0, 0)
    assert steps[-1]["failed"] == pytest.approx(100 * (1 - answer.rows[-1]["survival"]))
    assert all(row["low"] <= row["failed"] <= row["high"] for row in steps)


def test_the_fit_is_dashed_beyond_the_oldest_unit_and_only_there(snapshot):
    answer = life(snapshot, Filters())
    oldest = answer.more["largest_age"]

    *_, within, beyond = layers(charts.life_chart(answer))

    assert "strokeDash" not in within["mark"]
    assert beyond["mark"]["strokeDash"]
    for row in beyond["rows"]:
        assert row["beyond"] == (row["line"] == charts.LINES[2])
        assert row["age"] >= oldest or not row["beyond"]
        assert row["age"] <= oldest or row["beyond"]


def test_incidence_is_drawn_without_the_fit_and_without_its_name(snapshot):
    drawn = layers(charts.life_chart(life(snapshot, Filters(component=("handle",)))))

    assert len(drawn) == 2
    assert drawn[1]["encoding"]["color"]["scale"]["domain"] == ["observed"]


@pytest.mark.parametrize("distribution", DISTRIBUTIONS)
def test_the_fit_drawn_is_the_law_fitted(distribution):
    age = np.array([100.0, 300.0, 700.0, 900.0])
    fit = fit_life(age, [1, 2, 1, 0], [0, 3, 1, 9], distribution=distribution)

    drawn = charts.failed_fraction(distribution, fit.parameters, age)

    assert drawn == pytest.approx(fit.failed_fraction(age), rel=1e-9)


def test_counts_are_drawn_with_the_number_beside():
    rows = [{"name": "missing", "n_rows": 1200}, {"name": "bad date", "n_rows": 1}]

    bars = layers(charts.counts_chart(rows, name="name", count="n_rows", axis="rows"))

    assert [row["beside"] for row in bars[0]["rows"]] == ["1\u2009200", "1"]


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
