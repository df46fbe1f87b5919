"""Charts of lives draw what the query answered, on scales where a law is straight."""

import dataclasses

import numpy as np
import pandas as pd
import pytest

from analytics.statistics.distributions import fit_life
from dashboard.drawing import (
    charts,
    charts_ages,
    charts_fitted,
    charts_laws,
    charts_life,
)
from dashboard.filters import Filters
from dashboard.queries.life import DISTRIBUTIONS, life


@pytest.fixture
def answer(snapshot):
    return life(snapshot, Filters(), by="model")


def marks(chart):
    """Return every mark of a chart with its own rows, however deep it lies."""
    drawn = chart.to_dict()
    found = []

    def walk(part, data):
        data = part.get("data", data)
        if "layer" in part:
            for inner in part["layer"]:
                walk(inner, data)
        else:
            found.append(part | {"rows": drawn["datasets"][data["name"]]})

    walk(drawn, None)
    return found


def of_kind(chart, kind):
    return [mark for mark in marks(chart) if mark["mark"]["type"] == kind]


def lines(chart):
    """Return the rows of all lines, by the name each has in the legend."""
    named = {}
    for mark in of_kind(chart, "line"):
        for row in mark["rows"]:
            named.setdefault(row["line"], {})[row["age"]] = row
    return {name: list(rows.values()) for name, rows in named.items()}


def test_the_curve_starts_at_age_0_and_ends_where_the_query_ends(answer):
    steps = lines(charts_life.curve_chart(answer))["observed"]

    assert (steps[0]["age"], steps[0]["failed"]) == (0, 0)
    assert steps[-1]["age"] == answer.rows[-1]["age_days"]
    assert steps[-1]["failed"] == pytest.approx(100 * (1 - answer.rows[-1]["survival"]))
    assert all(row["low"] <= row["failed"] <= row["high"] for row in steps)


def test_interval_and_band_are_two_shades_each_with_its_name(answer):
    areas = of_kind(charts_life.curve_chart(answer), "area")

    names = [mark["rows"][0]["shade"] for mark in areas]
    band = areas[names.index(charts_life.BAND)]["rows"]
    rows = [row for row in answer.rows if np.isfinite(row["band_low"])]
    legend = areas[0]["encoding"]["fill"]["scale"]
    assert names == [charts_life.BAND, charts_life.INTERVAL]
    assert sorted(legend["domain"]) == sorted(names)
    assert len(set(legend["range"])) == 2
    assert [row["high"] for row in band] == pytest.approx(
        [100 * (1 - row["band_low"]) for row in rows]
    )


def test_the_fit_is_dashed_beyond_the_oldest_unit_and_only_there(answer):
    chart = charts_life.curve_chart(answer)
    drawn = lines(chart)
    oldest = answer.more["largest_age"]

    scale = of_kind(chart, "line")[-1]["encoding"]["strokeDash"]["scale"]
    dashed = {
        name
        for name, dash in zip(scale["domain"], scale["range"], strict=True)
        if dash[1]
    }
    assert dashed == {charts_fitted.BEYOND_LINE}
    assert all(row["age"] >= oldest for row in drawn[charts_fitted.BEYOND_LINE])
    assert all(row["age"] <= oldest for row in drawn["fitted (Weibull law)"])


def test_incidence_is_drawn_without_the_fit_and_without_its_name(snapshot):
    chart = charts_life.curve_chart(life(snapshot, Filters(component=("handle",))))

    assert set(lines(chart)) == {"observed"}
    assert {
        row["shade"] for mark in of_kind(chart, "area") for row in mark["rows"]
    } == {charts_life.INTERVAL}


def test_a_shape_assumed_is_drawn_as_a_range_that_holds_every_law_of_it(snapshot):
    answer = life(snapshot, Filters(), assumed_shape=(1, 3))
    chart = charts_life.curve_chart(answer)

    shade = next(
        mark["rows"]
        for mark in of_kind(chart, "area")
        if mark["rows"][0]["shade"] == charts_life.ASSUMED
    )
    age = np.array([row["age"] for row in shade])
    for row in answer.more["assumed"]["rows"]:
        failed = 100 * charts_fitted.failed_fraction(
            "weibull", {"shape": row["shape"], "scale": row["scale_days"]}, age
        )
        assert (failed <= np.array([r["high"] for r in shade]) + 1e-9).all()
        assert (failed >= np.array([r["low"] for r in shade]) - 1e-9).all()
    assert set(lines(chart)) == {"observed"}


@pytest.mark.parametrize("distribution", DISTRIBUTIONS)
def test_the_fit_drawn_is_the_law_fitted(distribution):
    age = np.array([100.0, 300.0, 700.0, 900.0])
    fit = fit_life(age, [1, 2, 1, 0], [0, 3, 1, 9], distribution=distribution)

    drawn = charts_fitted.failed_fraction(distribution, fit.parameters, age)

    assert drawn == pytest.approx(fit.failed_fraction(age), rel=1e-9)


@pytest.mark.parametrize(
    ("law", "parameters"),
    [
        ("weibull", {"shape": 2.5, "scale": 700.0}),
        ("lognormal", {"mu": 6.0, "sigma": 0.8}),
    ],
)
def test_each_scale_makes_a_straight_line_of_its_own_law_and_not_of_the_other(
    law, parameters
):
    age = np.geomspace(60, 2000, 9)
    other = "lognormal" if law == "weibull" else "weibull"
    failed = charts_fitted.failed_fraction(law, parameters, age)

    def bend(scale):
        return np.abs(np.diff(charts_laws.straightened(failed, scale), n=2)).max()

    # Equal steps of log age: a straight line has equal steps too.
    assert bend(law) < 1e-9
    assert bend(other) > 0.02


@pytest.mark.parametrize("law", ["weibull", "lognormal"])
def test_the_plot_holds_every_failure_and_the_line_of_its_law(answer, law):
    chart = charts_laws.law_chart(answer, law)

    points = of_kind(chart, "point")[0]["rows"]
    assert [row["age"] for row in points] == [
        row["age_days"] for row in answer.more["points"] if row["age_days"] > 0
    ]
    fit = next(row for row in answer.more["laws"] if row["distribution"] == law)
    for row in lines(chart)["fitted"]:
        failed = charts_fitted.failed_fraction(
            law, fit["parameters"], np.array([row["age"]])
        )
        assert row["straight"] == pytest.approx(
            charts_laws.straightened(failed, law)[0]
        )
    assert charts_laws.COMPARED in lines(chart)


def test_the_line_through_the_points_is_thin_and_named_a_comparison(answer):
    drawn = of_kind(charts_laws.law_chart(answer, "weibull"), "line")

    widths = {
        name: mark["mark"]["strokeWidth"]
        for mark in drawn
        for name in {row["line"] for row in mark["rows"]}
    }
    assert "comparison only" in charts_laws.COMPARED
    assert widths[charts_laws.COMPARED] < widths[charts_laws.FITTED_LINE] / 2


@pytest.mark.parametrize("law", ["weibull", "lognormal"])
def test_the_marks_of_both_scales_hold_every_point(answer, law):
    mark = of_kind(charts_laws.law_chart(answer, law), "point")[0]

    for channel, column in (("x", "age"), ("y", "straight")):
        low, high = mark["encoding"][channel]["scale"]["domain"]
        values = [row[column] for row in mark["rows"]]
        labelled = mark["encoding"][channel]["axis"]["values"]
        assert low < min(values) <= max(values) < high
        assert low < min(labelled) <= min(values)
        assert max(values) <= max(labelled) < high


def test_rates_carry_their_whiskers_and_their_counts(answer):
    chart = charts_ages.rate_chart(answer)
    rows = of_kind(chart, "text")[0]["rows"]

    for drawn, row in zip(rows, answer.more["hazard"], strict=True):
        assert (drawn["low"], drawn["rate"]) == (row["low"], row["rate"])
        assert drawn["beside"].startswith(str(row["n_failed"]))
        # A whisker that is cut says how far it goes.
        assert (drawn["end"] < row["high"]) == ("(to " in drawn["beside"])


def test_the_areas_of_the_modes_add_up_and_each_is_named_at_its_end(answer):
    chart = charts_ages.incidence_chart(answer)
    areas = of_kind(chart, "area")[0]["rows"]
    words = of_kind(chart, "text")[0]["rows"]
    reach = answer.more["modes"][0]["age_days"]

    tops = {}
    for row in areas:
        tops[row["age"]] = max(tops.get(row["age"], 0), row["high"])
    by_age = {row["age_days"]: row for row in answer.rows}
    for age, top in tops.items():
        if age:
            assert top == pytest.approx(100 * (1 - by_age[age]["survival"]), abs=1e-6)
    assert max(tops) <= reach
    labels = {row["label"] for row in answer.more["incidence"]}
    assert {row["words"].split("\n")[0] for row in words} == labels


def test_labels_keep_their_distance_and_their_order():
    places = charts_ages.spread([1.0, 1.1, 1.2, 8.0, 9.9], gap=1.0, top=10.0)

    assert np.diff(places).min() >= 1 - 1e-12
    assert max(places) <= 10
    assert places[3:] == [8.0, 9.9]


def test_two_groups_are_told_apart_by_colour_and_by_width(answer):
    chart = charts_ages.groups_chart(answer)

    drawn = of_kind(chart, "line")
    names = [group["group"] for group in answer.more["comparison"]["groups"]]
    assert [mark["rows"][0]["name"] for mark in drawn] == names
    assert len({mark["mark"]["strokeWidth"] for mark in drawn}) == 2
    assert drawn[0]["encoding"]["stroke"]["scale"]["domain"] == names
    last = [
        row for row in answer.more["comparison"]["rows"] if row["group"] == names[1]
    ]
    assert drawn[1]["rows"][-1]["failed"] == pytest.approx(100 * last[-1]["failed"])


def test_life_without_some_failures_lies_below_life_as_it_is(snapshot):
    answer = life(snapshot, Filters(component=("handle",)))

    as_it_is, without = (
        mark["rows"] for mark in of_kind(charts_ages.without_chart(answer), "line")
    )

    assert without[-1]["failed"] < as_it_is[-1]["failed"]


def test_a_long_curve_keeps_one_step_a_pixel_and_its_last():
    many = charts_life.from_new(*(pd.Series(np.linspace(0, 1, 5000)) for _ in range(4)))

    assert len(many) <= charts_life.MOST_STEPS + 1
    assert many["failed"].iloc[-1] == 100


def test_charts_of_long_lives_can_be_drawn(answer):
    n = 4000
    rows = [
        {"age_days": float(age), "survival": 1 - age / n / 2, "low": 0.2, "high": 0.9}
        | {"band_low": 0.1, "band_high": 0.95, "n_at_risk": n - age, "n_failed": 1}
        for age in range(1, n)
    ]
    modes = [
        {"mode": mode, "label": mode, "age_days": row["age_days"], "n_failed": 1}
        | {"incidence": row["age_days"] / n / 7}
        for mode in "abcdefg"
        for row in rows
    ]
    more = {"incidence": modes, "modes": [{"age_days": n}]}
    long = dataclasses.replace(answer, rows=rows, more={**answer.more, **more})

    for make in (charts_life.curve_chart, charts_ages.incidence_chart):
        drawn = make(long).to_dict()
        most = max(map(len, drawn["datasets"].values()))
        assert most < 8 * charts_life.MOST_STEPS


def test_only_what_needs_attention_is_vermilion(answer):
    for chart in (
        charts_ages.incidence_chart(answer),
        charts_ages.groups_chart(answer),
    ):
        assert charts.ATTENTION not in chart.to_json()
