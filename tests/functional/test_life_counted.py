"""What a life answer counts otherwise, does not count, or refuses: by hand."""

import numpy as np
import pytest

from analytics.errors import InsufficientDataError
from analytics.rollup.rules import LifeRules
from dashboard.filters import Filters
from dashboard.queries.life import life
from dashboard.queries.life_open import counted_as_failed
from tests import small_fleet


def test_open_cases_are_counted_by_the_share_of_closed_ones_of_like_age():
    ages = np.array([10.0, 20.0, 400.0])
    n_open = np.array([3, 3, 10])
    closed_age = np.array([5.0, 50.0, 500.0])

    moved = counted_as_failed(
        ages, n_open, closed_age, np.array([15, 15, 5]), np.array([20, 20, 20])
    )

    # Under 90 days 30 of 40 closed cases were failures, from a year on 5 of 20.
    assert moved.sum() == round(6 * 30 / 40 + 10 * 5 / 20)
    assert (moved <= n_open).all()


def test_many_open_cases_bring_a_second_fit_with_a_shorter_life(tmp_path):
    start = small_fleet.dt.date(2025, 1, 1)
    units = [small_fleet.unit(f"U-{n:03}") for n in range(80)]
    cases = []
    for n in range(30):
        day = str(start + small_fleet.dt.timedelta(days=30 + 8 * n))
        confirmed = {"confirmed_mode": "handle_pilot_open", "confirmed_on": day}
        cases.append(
            small_fleet.case(
                f"R-{n}",
                f"U-{n:03}",
                received_on=day,
                failed_on=day,
                **({} if n % 3 == 0 else confirmed),
            )
        )
    snapshot = small_fleet.published(tmp_path, units, cases)

    found = life(snapshot, Filters()).more

    assert found["open"]["n_open"] == 10
    assert found["open"]["n_counted"] == 10  # every closed case was a failure
    assert found["open"]["b10_days"] < found["b_lives"][2]["age_days"]
    assert "10 of 30 cases are open" in found["open"]["sentence"]


def test_a_register_of_mainly_returned_units_allows_no_estimate(tmp_path):
    units = [small_fleet.unit(f"U-{n}") for n in range(10)]
    cases = [
        small_fleet.case(
            f"R-{n}",
            f"U-{n}",
            failed_on=f"2025-05-{n + 1:02}",
            confirmed_mode="handle_pilot_open",
        )
        for n in range(9)
    ]
    snapshot = small_fleet.published(tmp_path, units, cases)

    with pytest.raises(InsufficientDataError, match="mainly returned units") as told:
        life(snapshot, Filters())

    assert (told.value.needed, told.value.found) == (3, 1)


def test_no_failure_is_answered_by_an_assumed_shape(tmp_path):
    units = [small_fleet.unit(f"U-{n}") for n in range(10)]
    snapshot = small_fleet.published(tmp_path, units, [])

    with pytest.raises(InsufficientDataError, match="failures") as told:
        life(snapshot, Filters())
    found = life(snapshot, Filters(), assumed_shape=(1.0, 2.0))

    assert (told.value.needed, told.value.found) == (1, 0)
    assert found.more["fit"] is None
    rows = found.more["assumed"]["rows"]
    assert [row["shape"] for row in rows] == [1, 1.5, 2]
    # Ten units of 365 days: the exponential limit is the total over -ln(0.05).
    assert rows[0]["low"] == pytest.approx(3650 / -np.log(0.05))
    assert "one-sided" in found.more["assumed"]["sentence"]


def test_failures_within_brackets_move_the_curve_and_say_by_how_much(tmp_path):
    units = [small_fleet.unit(f"U-{n:02}") for n in range(30)]
    cases = [
        small_fleet.case(
            f"R-{n}",
            f"U-{n:02}",
            received_on=f"2025-09-{n + 1:02}",
            failed_on=f"2025-09-{n + 1:02}",
            last_known_good_on="2025-03-01",
            confirmed_mode="handle_pilot_open",
        )
        for n in range(10)
    ]
    snapshot = small_fleet.published(tmp_path, units, cases)

    found = life(snapshot, Filters(), age=(243.0,)).more["bracketed"]

    # Day 243 is the first of September: one bracket ends there, ten began on day 59.
    # All ten may have failed by then; the curve counts one.
    assert found["n_bracketed"] == 10
    row = found["rows"][0]
    assert row["failed_from"] == pytest.approx(1 / 3, abs=1e-6)
    assert row["failed_to"] == pytest.approx(1 / 3, abs=1e-6)
    assert row["low"] < 1 / 3 < row["high"]
    assert (row["n_failed"], row["curve_failed"]) == (1, pytest.approx(1 / 30))
    assert "by 243 days is 33.3 %, against 3.33 % on the curve" in found["sentence"]


def test_brackets_beside_late_entries_are_said_not_to_be_counted(tmp_path):
    units = [
        small_fleet.unit(f"U-{n:02}", registered_on="2025-02-01") for n in range(30)
    ]
    cases = [
        small_fleet.case(
            f"R-{n}",
            f"U-{n:02}",
            failed_on=f"2025-0{n + 2}-20",
            last_known_good_on=f"2025-0{n + 1}-01",
            received_on="2025-08-01",
            confirmed_mode="handle_pilot_open",
        )
        for n in range(5)
    ]
    snapshot = small_fleet.published(tmp_path, units, cases)

    found = life(snapshot, Filters(), assumed_shape=(1.0,)).more["bracketed"]

    assert found["rows"] == []
    assert "units came into view late" in found["sentence"]


def test_before_the_first_failure_the_share_has_an_upper_limit(tmp_path):
    units = [small_fleet.unit(f"U-{n:02}") for n in range(30)]
    cases = [
        small_fleet.case(
            f"R-{n}",
            f"U-{n:02}",
            failed_on=f"2025-05-{n + 1:02}",
            confirmed_mode="handle_pilot_open",
        )
        for n in range(3)
    ]
    snapshot = small_fleet.published(tmp_path, units, cases)

    row = life(snapshot, Filters(), age=(90.0,)).more["failed_by"][0]

    # None of 30, exact: (1 - p) ** 30 = 0.025.
    assert (row["curve_failed"], row["curve_low"]) == (0, 0)
    assert row["curve_high"] == pytest.approx(1 - 0.025 ** (1 / 30))


def test_a_group_of_mainly_returned_units_is_told_beside_its_answer(tmp_path):
    units = [
        *(small_fleet.unit(f"A-{n}", model="Model A") for n in range(10)),
        *(small_fleet.unit(f"B-{n}", model="Model B") for n in range(30)),
    ]
    cases = [
        small_fleet.case(
            f"R-{n}",
            f"A-{n}",
            failed_on=f"2025-05-{n + 1:02}",
            confirmed_mode="handle_pilot_open",
        )
        for n in range(9)
    ]
    snapshot = small_fleet.published(tmp_path, units, cases)

    told = life(snapshot, Filters(model=("Model A",))).more["not_counted"]

    assert any("9 of 10 units under the filters were returned" in said for said in told)
    whole = life(snapshot, Filters()).more["not_counted"]
    assert not any("were returned" in said for said in whole)


def test_units_out_of_sight_after_their_term_are_told(tmp_path):
    rules = LifeRules(failures_seen="in_warranty")
    units = [
        *(small_fleet.unit(f"A-{n}", warranty_months=3) for n in range(20)),
        *(small_fleet.unit(f"B-{n}") for n in range(3)),
    ]
    cases = [
        small_fleet.case(
            f"R-{n}",
            f"A-{n}",
            failed_on=day,
            received_on="2025-07-01",
            confirmed_mode="handle_pilot_open",
        )
        for n, day in enumerate(("2025-02-01", "2025-03-01", "2025-06-01"))
    ]
    snapshot = small_fleet.published(tmp_path, units, cases, rules=rules)

    told = " ".join(life(snapshot, Filters()).more["not_counted"])

    assert "20 units count only up to it, and 1 cases after it do not count" in told
    assert "not known of 3 units" in told
