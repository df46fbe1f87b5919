"""Page Time to failure: curve, fit, ages and laws, and what the data do not show."""

import pytest
from fastapi.testclient import TestClient

from analytics.rollup.snapshot import current_snapshot
from dashboard import text
from dashboard.api.app import api
from dashboard.filters import Filters
from dashboard.queries.life import life
from dashboard.settings import Place
from tests import small_fleet


def fleet(folder, days, *, n_working=20):
    """Publish units in service since 2025-01-01 that fail after the days given."""
    start = small_fleet.dt.date(2025, 1, 1)
    units = [small_fleet.unit(f"A{n:03}") for n in range(len(days))]
    units += [small_fleet.unit(f"B{n:03}", model="B") for n in range(n_working)]
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
    table = table_with(open_page("life"), "band_low")
    rows = life(snapshot, Filters()).rows

    assert list(table["failed"]) == pytest.approx(
        [100 * (1 - row["survival"]) for row in rows]
    )
    assert list(table["n_at_risk"]) == [row["n_at_risk"] for row in rows]
    assert (table["low"] <= table["failed"]).all()
    assert (table["failed"] <= table["high"]).all()
    inside = table["band_low"].notna()
    assert (table["band_low"] <= table["low"])[inside].all()
    assert (table["high"] <= table["band_high"])[inside].all()


def test_a_choice_of_failures_shows_incidence_and_says_what_the_fit_means(
    open_page, snapshot, read, table_with
):
    page = open_page("life", component=["handle"])
    rows = life(snapshot, Filters(component=("handle",))).rows

    assert list(table_with(page, "band_low")["failed"]) == pytest.approx(
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
    fit = TestClient(api).get("/life?distribution=lognormal").json()["b_lives"]
    assert f"have failed by {text.estimate(fit[2]['age_days'])} days" in read(page)


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


def test_the_laws_are_compared_with_the_numbers_of_the_query(
    open_page, snapshot, table_with, read
):
    page = open_page("life")
    more = life(snapshot, Filters()).more
    table = table_with(page, "standing", "b10")

    assert more["choice"]["sentence"] in read(page)
    assert list(table["b10"]) == [
        text.estimate(row["b10_days"]) for row in more["laws"]
    ]
    assert list(table["standing"]) == [row["standing"] for row in more["laws"]]
    assert list(table["n_failed"]) == [row["n_failed"] for row in more["laws"]]


def test_complete_data_carry_the_anderson_darling_test(open_page, tmp_path, table_with):
    place = fleet(tmp_path, [20 + 11 * n for n in range(25)])

    table = table_with(
        open_page("life", of=place, model=["Model A"]), "standing", "test"
    )

    assert all(" p " in words for words in table["test"])
    with pytest.raises(AssertionError):
        table_with(open_page("life"), "standing", "test")


def test_a_law_that_the_curve_contradicts_is_warned_of(open_page, tmp_path):
    place = fleet(tmp_path, [5] * 60 + [200 + n for n in range(60)], n_working=200)

    page = open_page("life", of=place)

    contradicted = life(current_snapshot(place.published), Filters()).more[
        "contradicted"
    ]
    assert contradicted["sentence"] in page.warning[0].value


def test_the_rate_by_age_is_that_of_the_query(open_page, snapshot, table_with):
    rows = life(snapshot, Filters()).more["hazard"]
    table = table_with(open_page("life"), "unit_years")

    assert list(table["n_failed"]) == [row["n_failed"] for row in rows]
    assert list(table["rate"]) == [text.estimate(row["rate"]) for row in rows]


def test_the_modes_are_those_of_the_query_commonest_first(
    open_page, snapshot, table_with
):
    rows = life(snapshot, Filters()).more["modes"]
    table = table_with(open_page("life"), "label", "incidence")

    assert list(table["label"]) == [row["label"] for row in rows]
    assert list(table["incidence"]) == pytest.approx(
        [100 * row["incidence"] for row in rows]
    )
    assert list(table["n_failed"]) == sorted(table["n_failed"], reverse=True)


def test_what_would_remain_is_shown_only_where_failures_are_chosen(
    open_page, snapshot, read
):
    sentence = life(snapshot, Filters(component=("handle",))).more["without"][
        "sentence"
    ]

    chosen, all_failures = open_page("life", component=["handle"]), open_page("life")

    labels = [closed.label for closed in chosen.expander]
    assert "What would remain without the failures chosen (an assumption)" in labels
    assert sentence in read(chosen)
    assert not [c for c in all_failures.expander if "would remain" in c.label]


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


def test_failures_between_two_days_are_counted_within_them(
    open_page, tmp_path, read, table_with
):
    units = [small_fleet.unit(f"A{n:03}") for n in range(40)]
    cases = [
        small_fleet.case(
            f"R{n}",
            f"A{n:03}",
            received_on=f"2025-{4 + n:02}-20",
            failed_on=f"2025-{4 + n:02}-10",
            last_known_good_on=f"2025-{2 + n:02}-10",
            confirmed_mode="handle_pilot_open",
        )
        for n in range(6)
    ]
    published = small_fleet.published(tmp_path, units, cases)
    found = life(published, Filters()).more["bracketed"]

    page = open_page("life", of=Place(tmp_path))

    assert found["sentence"] in read(page)
    table = table_with(page, "days", "share")
    assert list(table["share"]) == [100 * row["share"] for row in found["rows"]]


def test_every_chart_and_table_is_offered_as_files(open_page):
    page = open_page("life", component=["handle"], by="model")

    offered = [button.proto.label for button in page.get("download_button")]

    n_pictures, n_tables = 7, 10
    assert offered.count("SVG") == offered.count("PNG") == n_pictures
    for kind in ("CSV", "XLSX", "Parquet"):
        assert offered.count(kind) == n_tables
