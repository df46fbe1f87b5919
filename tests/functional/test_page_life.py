"""Page Time to failure: curve, fit, ages and laws, and what the data do not show."""

import pytest
from fastapi.testclient import TestClient

from dashboard import text
from dashboard.api.app import api
from dashboard.filters import Filters
from dashboard.queries.life import life
from dashboard.settings import Place
from tests import small_fleet


def fleet(folder, days, **others):
    small_fleet.failing_after(folder, days, **others)
    return Place(folder)


def test_page_route_and_query_give_the_same_ages(open_page, snapshot, read, table_with):
    page = open_page("life")
    route = TestClient(api).get("/life").json()
    b_lives = life(snapshot, Filters()).more["b_lives"]

    assert route["b_lives"] == b_lives
    assert list(table_with(page, "name", "age")["age"]) == [
        text.estimate(row["age_days"]) for row in b_lives
    ]
    b10 = b_lives[2]
    assert f"10 % of units have failed by {text.estimate(b10['age_days'])}" in read(
        page
    )
    assert text.interval(b10["low"], b10["high"]) in read(page)


def test_the_curve_of_the_page_is_the_failed_share_of_the_query(
    open_page, snapshot, table_with
):
    table = table_with(open_page("life"), "band")
    rows = life(snapshot, Filters()).rows

    assert list(table["failed"]) == pytest.approx(
        [100 * (1 - row["survival"]) for row in rows]
    )
    assert list(table["n_at_risk"]) == [row["n_at_risk"] for row in rows]
    assert (table["low"] <= table["failed"]).all()
    assert (table["failed"] <= table["high"]).all()
    bands = [
        f"{100 * (1 - row['band_high']):.2f} to {100 * (1 - row['band_low']):.2f}"
        for row in rows
    ]
    assert [band for band in table["band"] if band] == [
        band for band in bands if "nan" not in band
    ]


def test_a_choice_of_failures_shows_incidence_and_says_what_the_fit_means(
    open_page, snapshot, read, table_with
):
    page = open_page("life", component=["handle"])
    rows = life(snapshot, Filters(component=("handle",))).rows

    assert list(table_with(page, "band")["failed"]) == pytest.approx(
        [100 * row["incidence"] for row in rows]
    )
    assert "if no other failure existed" in read(page)
    assert "beside others" in read(page)
    assert "The fit is not drawn" in read(page)
    assert "on average before this failure, if no other existed" in read(page)
    assert "Points: failures (at the middle of each step of the curve)" in read(page)


def test_a_law_chosen_goes_into_the_address_and_the_data(open_page, read):
    page = open_page("life")

    page.selectbox(key="life_distribution").set_value("lognormal").run()

    assert page.query_params["distribution"] == "lognormal"
    assert "(lognormal fit)" in read(page)
    assert "(/api/v1/life?distribution=lognormal)" in read(page)
    fit = TestClient(api).get("/life?distribution=lognormal").json()["b_lives"]
    assert f"have failed by {text.estimate(fit[2]['age_days'])} days" in read(page)


def test_a_plot_speaks_of_whiskers_only_where_they_are_drawn(open_page, read):
    # Two plots, of which one is of the law chosen.
    words = "Whiskers: 95 % intervals of the ages"

    assert read(open_page("life", distribution="lognormal")).count(words) == 1


def test_the_commonest_failure_is_counted_at_any_age_as_in_the_table(open_page, read):
    most = read(open_page("life")).split("Most often ")[1].split(" Drawn")[0]

    assert most.endswith("failures at any age).")


def test_a_law_that_is_not_known_is_told(open_page, read):
    shown = read(open_page("life", distribution="normal"))

    assert "distribution normal is not known" in shown


def test_failures_that_gather_late_are_called_more_frequent(open_page, read, tmp_path):
    place = fleet(tmp_path, [150 + n for n in range(40)])

    assert "more frequent with age (Weibull shape" in read(open_page("life", of=place))


def test_failures_that_gather_early_are_called_less_frequent(open_page, read, tmp_path):
    place = fleet(tmp_path, [1 + n // 4 for n in range(40)])

    assert "less frequent with age (Weibull shape" in read(open_page("life", of=place))


def test_failures_spread_evenly_are_not_called_either(open_page, read, tmp_path):
    place = fleet(tmp_path, [9 * n + 5 for n in range(20)])

    shown = read(open_page("life", of=place))

    assert "The data do not show whether" in shown


def test_an_age_beyond_the_oldest_unit_is_named_so(open_page, tmp_path, table_with):
    place = fleet(tmp_path, [120, 240])

    page = open_page("life", of=place)

    assert "beyond the oldest unit seen" in list(
        table_with(page, "name", "note")["note"]
    )


def test_ages_named_are_answered_and_stay_in_the_address(
    open_page, snapshot, table_with, read
):
    page = open_page("life")
    page.multiselect(key="life_age").set_value(["180", "9000"]).run()

    rows = life(snapshot, Filters(), age=(180, 9000)).more["failed_by"]
    table = table_with(page, "curve", "fit")
    assert page.query_params["age"] == ["180", "9000"]
    assert list(table["age_days"]) == [180, 9000]
    assert list(table["fit"]) == [text.estimate(100 * row["failed"]) for row in rows]
    assert list(table["curve"]) == [
        text.estimate(100 * rows[0]["curve_failed"]),
        "not seen",
    ]
    assert list(table["note"]) == ["", "extrapolated"]
    assert "/api/v1/export/life-shares?age=180&age=9000&format=json" in read(page)


def test_an_age_that_is_no_number_is_refused_beside_the_others(open_page, read):
    page = open_page("life")

    page.multiselect(key="life_age").set_value(["400", "soon", "-3"]).run()

    assert page.query_params["age"] == "400"
    assert "soon, -3: not a number of days" in read(page)


@pytest.mark.parametrize(
    ("word", "told"),
    [
        ({"age": ["soon"]}, "age soon is not a number"),
        ({"age": ["0"]}, "age 0 is not a number of days"),
        ({"by": "colour"}, "by colour is not known"),
        ({"assumed_shape": ["-1"]}, "assumed shape -1.0 is no range"),
    ],
)
def test_a_word_beside_the_filters_that_cannot_be_is_told(open_page, read, word, told):
    assert told in read(open_page("life", **word))


def test_everything_not_counted_is_said(open_page, snapshot, read):
    more = life(snapshot, Filters()).more
    shown = read(open_page("life"))

    for sentence in more["not_counted"]:
        assert sentence in shown
    assert f"{more['n_open']} cases" in shown


def test_months_that_are_not_complete_are_named_beside_the_answer(
    open_page, snapshot, tmp_path, read
):
    end = snapshot.about.observation_end
    told = f"Failures count up to {end}; later months are not complete"
    on_time = fleet(tmp_path, [9 * n + 5 for n in range(20)])

    assert end < snapshot.about.as_of
    assert told in read(open_page("life"))
    assert "later months are not complete" not in read(open_page("life", of=on_time))
