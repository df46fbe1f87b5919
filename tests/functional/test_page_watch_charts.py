"""Charts of the watch draw what the query answered, month by month."""

import pytest

from dashboard.drawing import charts, charts_watch, pictures
from dashboard.page_parts.watch_alarm import pictures_of
from dashboard.page_parts.watch_shown import Watched
from tests import watch_answers as made

NAME = "2026-01-aaaaa"
ALARM = made.alarm(NAME)


def layers(chart):
    """Return the layers of a chart as drawn, each with its own data."""
    drawn = chart.to_dict()
    data = drawn["datasets"]
    return [
        layer | {"rows": data[layer.get("data", drawn.get("data"))["name"]]}
        for layer in drawn["layer"]
    ]


def of_kind(chart, kind):
    return [layer for layer in layers(chart) if layer["mark"]["type"] == kind]


def test_bars_are_observed_failures_and_hollow_where_a_month_is_not_complete():
    series = made.series(NAME)

    (bars,) = of_kind(charts_watch.counts_chart(series, ALARM), "bar")

    assert [row["observed"] for row in bars["rows"]] == [m["observed"] for m in series]
    drawn = {row["month"]: row["bar"] for row in bars["rows"]}
    assert drawn["2026-04"] == "observed"
    assert drawn["2026-05"] == drawn["2026-06"] == "observed, not complete"
    fills = bars["encoding"]["fill"]["scale"]
    assert dict(zip(fills["domain"], fills["range"], strict=True)) == {
        "observed": charts.OBSERVED,
        "observed, not complete": "transparent",
    }


def test_the_line_is_what_was_expected_and_says_so():
    (line,) = of_kind(charts_watch.counts_chart(made.series(NAME), ALARM), "line")

    assert {row["expected"] for row in line["rows"]} == {1.5}
    assert {row["line"] for row in line["rows"]} == {"expected"}


def test_the_evidence_has_its_threshold_and_none_where_nothing_failed():
    series = made.series(NAME)

    chart = charts_watch.evidence_chart(series, ALARM)

    (points,) = of_kind(chart, "point")
    assert "isValid(datum.evidence)" in str(points["transform"])
    given = [row["evidence"] for row in points["rows"]]
    assert given == [month["evidence"] for month in series]
    (line,) = of_kind(chart, "line")
    assert [row["threshold"] for row in line["rows"]][-1] == 4.2
    assert line["mark"]["strokeDash"]


@pytest.mark.parametrize(
    "draw", [charts_watch.counts_chart, charts_watch.evidence_chart]
)
def test_both_charts_name_the_month_it_began_and_that_of_the_alarm(draw):
    chart = draw(made.series(NAME), ALARM)

    words = [row["words"] for text in of_kind(chart, "text") for row in text["rows"]]
    assert words == ["began about 2025-11", "alarm 2026-01"]


def test_a_month_before_those_drawn_is_not_named():
    chart = charts_watch.counts_chart(
        made.series(NAME, 70), made.alarm(NAME, since="2019-01")
    )

    words = [row["words"] for text in of_kind(chart, "text") for row in text["rows"]]
    assert words == ["alarm 2026-01"]
    (bars,) = of_kind(chart, "bar")
    assert len(bars["rows"]) == 60


def test_months_before_the_group_existed_are_not_drawn_but_a_year_always_is():
    series = made.series(NAME)
    young = [month | {"expected": 0.0} for month in series[:10]] + series[10:]
    newest = [month | {"expected": 0.0} for month in series[:25]] + series[25:]

    assert charts_watch.drawn_months(young) == young[10:]
    assert charts_watch.drawn_months(newest) == newest[-12:]


def test_both_charts_have_the_same_months_on_the_same_width():
    series = made.series(NAME)
    shared = [
        [
            (
                layer["encoding"]["x"]["scale"],
                layer["encoding"]["y"]["axis"]["minExtent"],
            )
            for layer in layers(draw(series, ALARM))
        ]
        for draw in (charts_watch.counts_chart, charts_watch.evidence_chart)
    ]

    first = shared[0][0]
    assert all(one == first for chart in shared for one in chart)
    months = [(day["year"], day["month"]) for day in first[0]["domain"]]
    assert months == [(2024, 1), (2026, 7)]


def test_the_small_chart_has_bars_and_a_line_and_no_axes():
    bars, line = layers(charts_watch.spark_chart(made.months(24)))

    assert (bars["mark"]["type"], line["mark"]["type"]) == ("bar", "line")
    assert bars["encoding"]["y"]["axis"] is None
    assert len(bars["rows"]) == 24


def test_the_pictures_say_what_is_seen_and_can_be_taken_home(snapshot):
    answer = made.answer(snapshot, [ALARM])

    for picture in pictures_of(Watched(answer), ALARM):
        drawn = pictures.as_svg(picture, answer).decode()

        assert "2026-01" in drawn
        assert picture.title.split(":")[0] in drawn
        assert pictures.as_png(picture, answer).startswith(b"\x89PNG")
