import datetime as dt

import pytest

from analytics.rollup.watch_early import early_life
from tests.watched_fleet import watched

OLD = {"model": "A", "production_lot": "L1", "n_units": 100}
YOUNG = {"model": "A", "production_lot": "L2", "n_units": 40}


def fleet(kinds, n_young, *, n_old=10):
    exposure = [(0, 0, 0, 1000.0), (0, 1, 1, 1000.0), (1, 22, 0, 500.0)]
    failures = [(0, 0, 0, 0)] * n_old + [(0, 1, 1, 0)] * 50 + [(1, 22, 0, 0)] * n_young
    return watched(
        kinds, exposure, failures, modes=("fuse_open",), n_looks=24, n_ages=2
    )


def test_a_young_lot_against_the_same_ages_of_older_ones():
    (row,) = early_life(fleet([OLD, YOUNG], 20))
    # 10 in 1 000 unit-days at that age, so 5 in 500; older ages do not count.
    assert (row["lot"], row["n_failed"], row["expected"]) == ("L2", 20, 5.0)
    assert (row["n_older"], row["compared_with"]) == (10, "model")
    assert row["ratio"] == pytest.approx(4)
    assert row["low"] < 4 < row["high"]
    assert row["is_raised"]
    assert row["n_units"] == 40
    assert row["first_month"] == dt.date(2025, 11, 1)


def test_as_many_as_expected_is_nothing_raised():
    (row,) = early_life(fleet([OLD, YOUNG], 5))
    assert row["ratio"] == pytest.approx(1)
    assert row["adjusted_p"] == pytest.approx(1)
    assert not row["is_raised"]


def test_fewer_than_expected_is_never_raised():
    (row,) = early_life(fleet([OLD, YOUNG], 0, n_old=100))
    assert row["ratio"] == 0
    assert row["adjusted_p"] < 0.05
    assert not row["is_raised"]


def test_a_new_model_is_compared_with_all_older_lots():
    (row,) = early_life(fleet([OLD, YOUNG | {"model": "B"}], 20))
    assert (row["model"], row["compared_with"]) == ("B", "all")
    assert row["ratio"] == pytest.approx(4)


def test_without_a_failure_of_older_lots_the_days_of_both_are_compared():
    (row,) = early_life(fleet([OLD, YOUNG], 4, n_old=0))
    assert row["ratio"] is None
    assert row["high"] is None
    assert row["expected"] == 0
    # All four in the 500 of 1 500 unit-days that are the young lot's; both tails.
    assert row["p_value"] == pytest.approx(2 * (500 / 1500) ** 4)
    assert row["is_raised"]
    # Clopper and Pearson's lower limit of four of four, as a ratio of rates.
    share = 0.025 ** (1 / 4)
    assert row["low"] == pytest.approx(share / (1 - share) * 1000 / 500)


def test_without_any_failure_at_those_ages_nothing_is_compared():
    (row,) = early_life(fleet([OLD, YOUNG], 0, n_old=0))
    assert row["ratio"] is row["p_value"] is None
    assert not row["is_raised"]


def test_units_without_a_lot_are_in_none():
    assert early_life(fleet([OLD, {"model": "A", "n_units": 40}], 20)) == []


def test_p_values_are_adjusted_for_how_many_lots_are_compared():
    kinds = [OLD, YOUNG, YOUNG | {"production_lot": "L3"}]
    exposure = [(0, 0, 0, 1000.0), (1, 22, 0, 500.0), (2, 22, 0, 500.0)]
    failures = [(0, 0, 0, 0)] * 10 + [(1, 22, 0, 0)] * 20 + [(2, 22, 0, 0)] * 5
    found = watched(
        kinds, exposure, failures, modes=("fuse_open",), n_looks=24, n_ages=1
    )
    rows = early_life(found)
    assert [row["lot"] for row in rows] == ["L2", "L3"]
    assert rows[0]["adjusted_p"] == pytest.approx(2 * rows[0]["p_value"])
