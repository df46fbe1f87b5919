"""Page Time to failure: curve, fit and ages, and what the data do not show."""

import pytest
from fastapi.testclient import TestClient

from dashboard import text
from dashboard.api.app import api
from dashboard.filters import Filters
from dashboard.queries.life import life
from dashboard.settings import Place
from tests import small_fleet


def fleet(folder, days):
    """Publish units in service since 2025-01-01 that fail after the days given."""
    start = small_fleet.dt.date(2025, 1, 1)
    units = [small_fleet.unit(f"A{n:03}") for n in range(len(days) + 20)]
    cases = [
        small_fleet.case(
            f"R{n}",
            f"A{n:03}",
            received_on=str(start + small_fleet.dt.timedelta(days=day)),
            failed_on=str(start + small_fleet.dt.timedelta(days=day)),
            confirmed_mode="handle_pilot_open",
        )
        for n, day in enumerate(days)
    ]
    small_fleet.published(folder, units, cases)
    return Place(folder)


def test_page_route_and_query_give_the_same_ages(open_page, snapshot, read):
    page = open_page("life")
    route = TestClient(api).get("/life").json()
    b_lives = life(snapshot, Filters()).more["b_lives"]

    assert route["b_lives"] == b_lives
    assert list(page.dataframe[0].value["age"]) == [
        text.estimate(row["age_days"]) for row in b_lives
    ]
    b10 = b_lives[2]
    assert f"10 % of units have failed by {text.estimate(b10['age_days'])}" in read(
        page
    )
    assert text.interval(b10["low"], b10["high"]) in read(page)


def test_the_curve_of_the_page_is_the_failed_share_of_the_query(open_page, snapshot):
    table = open_page("life").dataframe[1].value
    rows = life(snapshot, Filters()).rows

    assert list(table["failed"]) == pytest.approx(
        [100 * (1 - row["survival"]) for row in rows]
    )
    assert list(table["n_at_risk"]) == [row["n_at_risk"] for row in rows]
    assert (table["low"] <= table["failed"]).all()
    assert (table["failed"] <= table["high"]).all()


def test_a_choice_of_failures_shows_incidence_and_says_what_the_fit_means(
    open_page, snapshot, read
):
    page = open_page("life", component=["handle"])
    rows = life(snapshot, Filters(component=("handle",))).rows

    assert list(page.dataframe[1].value["failed"]) == pytest.approx(
        [100 * row["incidence"] for row in rows]
    )
    assert "if no other failure existed" in read(page)
    assert "beside others" in read(page)
    assert "The fit is not drawn" in read(page)


def test_a_law_chosen_goes_into_the_address_and_the_data(open_page, read):
    page = open_page("life")

    page.selectbox(key="life_distribution").set_value("lognormal").run()

    assert page.query_params["distribution"] == "lognormal"
    assert "(lognormal fit)" in read(page)
    assert "(/api/v1/life?distribution=lognormal)" in read(page)
    assert "does not ask whether failures become more frequent" in read(page)


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


def test_an_age_beyond_the_oldest_unit_is_named_so(open_page, tmp_path):
    place = fleet(tmp_path, [120, 240])

    page = open_page("life", of=place)

    assert "beyond the oldest unit seen" in list(page.dataframe[0].value["note"])


def test_too_few_failures_say_how_many_would_be_enough_and_draw_nothing(
    open_page, read, tmp_path
):
    place = fleet(tmp_path, [100])

    page = open_page("life", of=place)

    assert "Needed: at least 2 " in read(page)
    assert "Enough would be 1 more" in read(page)
    assert not page.get("vega_lite_chart")


def test_nothing_left_after_filtering_is_told_and_draws_nothing(open_page, read):
    page = open_page("life", model=["No Such Model"])

    assert "Needed: at least 1 units with usable dates" in read(page)
    assert not page.get("vega_lite_chart")
