import pytest

from analytics.rollup.watch_explained import comparison, excess, lots
from tests.watched_fleet import watched

MODES = ("cable_pilot_open", "handle_pilot_open")
KINDS = [
    {"model": "A", "production_lot": "L1", "cable_supplier": "S"},
    {"model": "A", "production_lot": "L2", "cable_supplier": "T"},
    {"model": "B", "production_lot": "L3", "cable_supplier": "S"},
    {"model": "B", "production_lot": "L3", "cable_supplier": "T"},
]
EVEN = [(kind, look, 0, 100.0) for kind in range(4) for look in range(4)]


def fleet(n_by_kind, look=3, mode=1):
    failures = [
        (kind, look, 0, mode) for kind, n in enumerate(n_by_kind) for _ in range(n)
    ]
    return watched(KINDS, EVEN, failures, modes=MODES, n_looks=4)


def test_failures_and_expected_by_kind_in_the_months_asked_for():
    found = fleet([6, 1, 6, 1])
    seen = excess(found, ["handle_pilot_open"], 2, 3)
    # 14 failures in 1 600 unit-days; each kind has 200 of them in the two months.
    assert list(seen.n_failures) == [6, 1, 6, 1]
    assert list(seen.n_expected) == pytest.approx([14 / 1600 * 200] * 4)


def test_failures_of_other_modes_and_months_do_not_count():
    found = fleet([6, 1, 6, 1])
    assert excess(found, ["cable_pilot_open"], 0, 3).n_failures.sum() == 0
    assert excess(found, ["handle_pilot_open"], 0, 2).n_failures.sum() == 0
    assert excess(found, ["fuse_open"], 0, 3).n_failures.sum() == 0


def test_the_supplier_that_the_cases_share_explains_best():
    found = fleet([9, 1, 9, 1])
    rows = comparison(found, excess(found, MODES, 3, 3))
    best = rows[0]
    assert (best["dimension"], best["value"]) == ("cable_supplier", "S")
    assert best["is_best"]
    assert (best["n_cases"], best["n_rest"]) == (18, 2)
    assert best["expected"] == pytest.approx(best["expected_rest"])
    assert best["ratio"] == pytest.approx(9)
    assert best["low"] < 9 < best["high"]
    assert not any(row["is_best"] for row in rows[1:])


def test_a_lot_of_that_supplier_that_stands_out_further_is_named():
    found = fleet([30, 1, 2, 1])
    rows = comparison(found, excess(found, MODES, 3, 3))
    assert (rows[0]["dimension"], rows[0]["value"]) == ("production_lot", "L1")
    supplier = next(row for row in rows if row["dimension"] == "cable_supplier")
    # Supplier S without that lot: 2 of 4 failures, as many as expected.
    assert supplier["n_beside"] == 2
    assert supplier["further"] is None


def test_within_the_best_group_what_stands_out_once_more_is_said():
    kinds = [*KINDS, {"model": "B", "production_lot": "L4", "cable_supplier": "S"}]
    exposure = [(kind, 3, 0, 100.0) for kind in range(5)]
    n_by_kind = [12, 0, 12, 0, 45]
    failures = [(k, 3, 0, 1) for k, n in enumerate(n_by_kind) for _ in range(n)]
    found = watched(kinds, exposure, failures, modes=MODES, n_looks=4)
    rows = comparison(found, excess(found, MODES, 3, 3))
    assert rows[0]["value"] == "S"
    lot = next(row for row in rows if row["dimension"] == "production_lot")
    assert lot["further"] == "L4"
    assert lot["n_further"] == 45


def test_an_excess_common_to_all_has_no_row():
    found = fleet([5, 5, 5, 5])
    assert comparison(found, excess(found, MODES, 3, 3)) == []


def test_a_field_not_recorded_is_a_group_like_any_other():
    kinds = [{"model": "A"}, {"model": "A", "cable_supplier": "S"}]
    exposure = [(kind, 0, 0, 100.0) for kind in range(2)]
    failures = [(0, 0, 0, 0)] * 9 + [(1, 0, 0, 0)]
    found = watched(kinds, exposure, failures, modes=MODES[:1], n_looks=1)
    best = comparison(found, excess(found, MODES, 0, 0))[0]
    assert (best["dimension"], best["value"]) == ("cable_supplier", None)


def test_lots_of_a_model_each_against_its_others():
    found = fleet([1, 1, 7, 1])
    rows = lots(found, excess(found, MODES, 3, 3), "A")
    assert [row["lot"] for row in rows] == ["L1", "L2"]
    assert [row["ratio"] for row in rows] == pytest.approx([1, 1])


def test_the_only_lot_of_a_model_has_nothing_to_be_compared_with():
    found = fleet([1, 1, 7, 1])
    (row,) = lots(found, excess(found, MODES, 3, 3), "B")
    assert (row["lot"], row["n_cases"], row["ratio"]) == ("L3", 8, None)


def test_the_alarms_own_value_speaks_for_its_dimension():
    found = fleet([9, 3, 9, 1])
    seen = excess(found, MODES, 3, 3)
    rows = comparison(found, seen, ("production_lot", "L1"))
    lot = next(row for row in rows if row["dimension"] == "production_lot")
    assert (lot["value"], lot["is_own"]) == ("L1", True)
    assert not rows[0]["is_own"]
    # A lot at the level of the others is no explanation, even of its own alarm.
    other = comparison(found, seen, ("production_lot", "L2"))
    lot = next(row for row in other if row["dimension"] == "production_lot")
    assert (lot["value"], lot["is_own"]) == ("L1", False)
