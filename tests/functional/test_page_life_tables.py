"""Time to failure, the further tables: laws, rates, modes, brackets; each as files."""

from dataclasses import replace

import pytest

from analytics.rollup.snapshot import current_snapshot
from dashboard import text
from dashboard.drawing.charts_laws import MOST_POINTS, law_chart
from dashboard.filters import Filters
from dashboard.queries.life import life
from dashboard.settings import Place
from tests import small_fleet


def fleet(folder, days, **others):
    small_fleet.failing_after(folder, days, **others)
    return Place(folder)


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
    table = table_with(page, "failed_from", "failed_to")
    assert list(table["failed_to"]) == [100 * row["failed_to"] for row in found["rows"]]


def test_every_chart_and_table_is_offered_as_files(open_page):
    page = open_page("life", component=["handle"], by="model")

    offered = [button.proto.label for button in page.get("download_button")]

    n_pictures, n_tables = 7, 13
    assert offered.count("SVG") == offered.count("PNG") == n_pictures
    for kind in ("CSV", "XLSX", "Parquet"):
        assert offered.count(kind) == n_tables


def test_the_age_by_which_half_have_failed_is_read_from_the_curve(
    open_page, tmp_path, read
):
    place = fleet(tmp_path, [10 + 5 * n for n in range(30)], n_working=20)

    # By hand: the 25th of 50 units fails on day 10 + 5 x 24.
    assert "By the curve alone half have failed by 130 days" in read(
        open_page("life", of=place)
    )


def test_few_failures_that_share_a_day_carry_their_count_on_the_plot(tmp_path):
    place = fleet(tmp_path, [30, 30, 30, 90, 200])

    answer = life(current_snapshot(place.published), Filters())
    drawn = law_chart(answer, "weibull").to_dict()

    rows = [row for rows in drawn["datasets"].values() for row in rows]
    assert [row["beside"] for row in rows if "beside" in row] == ["3", "", ""]


def test_a_plot_of_very_many_failures_keeps_its_first_and_its_last(snapshot):
    answer = life(snapshot, Filters())
    n = 5000
    points = [
        {"age_days": age, "n_failed": 1, "failed_fraction": (age - 0.5) / n / 2}
        for age in range(1, n + 1)
    ]
    rows = [answer.rows[-1] | {"age_days": age} for age in range(1, n + 1)]
    more = {**answer.more, "points": points, "largest_age": float(n)}

    drawn = law_chart(replace(answer, rows=rows, more=more), "weibull").to_dict()

    held = next(rows for rows in drawn["datasets"].values() if "beside" in rows[0])
    assert max(map(len, drawn["datasets"].values())) <= MOST_POINTS
    assert (held[0]["age"], held[-1]["age"]) == (1, n)
