"""Time to failure with too few failures: said, and a shape to assume offered."""

import pytest

from analytics.rollup.snapshot import current_snapshot
from dashboard import text
from dashboard.filters import Filters
from dashboard.queries.life import life
from dashboard.settings import Place
from tests import small_fleet


def fleet(folder, *, n_failed, n_working):
    """Publish units in service since 2025-01-01, some of which fail on one day."""
    units = [small_fleet.unit(f"A{n:03}") for n in range(n_failed + n_working)]
    cases = [
        small_fleet.case(
            f"R{n}",
            f"A{n:03}",
            received_on="2025-04-11",
            failed_on="2025-04-11",
            confirmed_mode="handle_pilot_open",
        )
        for n in range(n_failed)
    ]
    small_fleet.published(folder, units, cases)
    return Place(folder)


def test_too_few_failures_say_how_many_would_be_enough_and_draw_nothing(
    open_page, read, tmp_path
):
    page = open_page("life", of=fleet(tmp_path, n_failed=1, n_working=20))

    assert "Needed: at least 2 " in read(page)
    assert "Enough would be 1 more" in read(page)
    assert not page.get("vega_lite_chart")


def test_a_band_is_spoken_of_only_where_one_is_drawn(open_page, read, tmp_path):
    small_fleet.failing_after(tmp_path / "few", [50, 90, 120])
    small_fleet.failing_after(tmp_path / "many", range(50, 90))

    shown, drawn = (
        read(open_page("life", of=Place(tmp_path / name))) for name in ("few", "many")
    )

    assert "too few failed for a band" in shown
    assert "the wider band" not in shown
    assert "the wider band at all of its ages at once" in drawn
    assert "Pale: the 95 % band" not in shown
    assert "Pale: the 95 % band" in drawn


def test_one_case_is_told_as_one(open_page, read, tmp_path):
    page = open_page("life", of=fleet(tmp_path, n_failed=1, n_working=20))

    assert "21 units · 1 case · id" in read(page)


def test_a_range_of_shapes_stated_goes_into_the_address_and_is_named_an_assumption(
    open_page, read, tmp_path, table_with
):
    place = fleet(tmp_path, n_failed=1, n_working=20)
    page = open_page("life", of=place)

    page.number_input(key="life_shape_low").set_value(1.5)
    page.number_input(key="life_shape_high").set_value(2.5).run()
    page.button(key="life_assume").click().run()

    answer = life(
        current_snapshot(place.published), Filters(), assumed_shape=(1.5, 2.5)
    )
    assumed = answer.more["assumed"]
    table = table_with(page, "shape", "b10")
    assert page.query_params["assumed_shape"] == ["1.5", "2.5"]
    assert f"**{assumed['sentence']}**" in read(page)
    assert "the shape is assumed" in page.warning[0].value
    assert list(table["b10"]) == [
        text.estimate(row["b10_days"]) for row in assumed["rows"]
    ]
    assert "/api/v1/export/life-assumed?assumed_shape=1.5&assumed_shape=2.5" in read(
        page
    )
    assert "Which law describes the failures?" not in read(page)


def test_the_assumption_can_be_left(open_page, read, tmp_path):
    place = fleet(tmp_path, n_failed=1, n_working=20)
    page = open_page("life", of=place, assumed_shape=["2"])

    page.button(key="life_assume_nothing").click().run()

    assert "assumed_shape" not in page.query_params
    assert "Needed: at least 2 " in read(page)


def test_no_failure_at_all_gives_a_limit_under_an_assumed_shape(
    open_page, read, tmp_path
):
    place = fleet(tmp_path, n_failed=0, n_working=30)

    without, assumed = (
        open_page("life", of=place),
        open_page("life", of=place, assumed_shape=["1", "3"]),
    )

    assert "Needed: at least 1 failures" in read(without)
    assert "which is an assumption, 10 % of units fail no earlier than" in read(assumed)
    assert "0 failures of 30 units" in read(assumed)


@pytest.mark.parametrize(
    ("n_failed", "n_working", "words", "told"),
    [
        (3, 20, {"model": ["No Such Model"]}, "1 units with usable dates"),
        (30, 2, {}, "the register holds mainly returned units"),
    ],
)
def test_no_shape_is_offered_where_no_assumption_helps(
    open_page, read, tmp_path, n_failed, n_working, words, told
):
    place = fleet(tmp_path, n_failed=n_failed, n_working=n_working)

    page = open_page("life", of=place, **words)

    assert told in read(page)
    assert not page.number_input
    assert not page.get("vega_lite_chart")
