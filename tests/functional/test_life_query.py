"""The life answer on a published invented fleet, beside libraries on its unit rows.

Oracle  lifelines (curve) and scikit-survival (log-rank test) on one row a unit, read
        from the same snapshot; the answer itself counts in the database.
"""

import lifelines
import numpy as np
import pandas as pd
import pytest
from sksurv.compare import compare_survival
from sksurv.util import Surv

from analytics.errors import InsufficientDataError
from dashboard.filters import Filters
from dashboard.queries.life import life
from dashboard.queries.life_ages import YEAR
from dashboard.queries.life_open import counted_as_failed
from dashboard.queries.life_parts import PARTS, part
from ingest.errors import NotFoundError, UsageError
from tests import small_fleet


@pytest.fixture
def answer(snapshot):
    return life(snapshot, Filters())


@pytest.fixture
def lives(snapshot):
    """One row a unit, with the group words of its unit."""
    frame = pd.DataFrame.from_dict(small_fleet.lives(snapshot), orient="index")
    units = snapshot.ask("units", Filters().parameters(), chosen="chosen_units")
    return frame.join(units.set_index("serial")[["connector"]])


def test_the_curve_is_that_of_lifelines(answer, lives):
    fitted = lifelines.KaplanMeierFitter().fit(
        lives["end_age"], lives["mode"].notna(), entry=lives["entry_age"]
    )

    ages = [row["age_days"] for row in answer.rows]

    assert [row["survival"] for row in answer.rows] == pytest.approx(
        fitted.survival_function_at_times(ages).to_numpy(), rel=1e-9
    )


def test_the_band_of_the_whole_curve_holds_the_limits_of_each_age(answer):
    banded = [row for row in answer.rows if np.isfinite(row["band_low"])]

    assert banded
    assert all(row["band_low"] <= row["low"] for row in banded)
    assert all(row["high"] <= row["band_high"] for row in banded)


def test_incidences_and_survival_add_up_to_all_units(answer):
    by_age = {}
    for row in answer.more["incidence"]:
        by_age.setdefault(row["age_days"], []).append(row["incidence"])
    survival = {row["age_days"]: row["survival"] for row in answer.rows}

    assert set(by_age) == set(survival)
    for age, shares in by_age.items():
        assert sum(shares) + survival[age] == pytest.approx(1, abs=1e-9)


def test_every_failure_is_in_the_table_of_modes(answer, lives):
    counted = {row["mode"]: row["n_failed"] for row in answer.more["modes"]}

    assert counted == lives["mode"].value_counts().to_dict()
    assert sum(counted.values()) == answer.more["n_failed"]


def test_shares_failed_by_an_age_are_those_of_curve_and_law(snapshot):
    found = life(snapshot, Filters(), age=(100.0, 400.0))

    rows = found.more["failed_by"]

    at_100 = [row for row in found.rows if row["age_days"] <= 100][-1]
    assert [row["age_days"] for row in rows] == [100, 400]
    assert rows[0]["curve_failed"] == pytest.approx(1 - at_100["survival"])
    assert rows[0]["n_failed"] == sum(
        row["n_failed"] for row in found.rows if row["age_days"] <= 100
    )
    assert rows[0]["low"] < rows[0]["failed"] < rows[0]["high"]
    assert found.asked == {"age": [100.0, 400.0]}


def test_the_mean_of_the_first_years_is_the_area_under_the_curve(answer):
    mean = answer.more["restricted_mean"]
    ages = [0.0, *(row["age_days"] for row in answer.rows), mean["horizon_days"]]
    survival = [1.0, *(row["survival"] for row in answer.rows)]

    area = sum(
        share * max(0, min(end, mean["horizon_days"]) - begin)
        for share, begin, end in zip(survival, ages, ages[1:], strict=False)
    )

    assert mean["horizon_days"] % YEAR == 0
    assert mean["mean_days"] == pytest.approx(area, rel=1e-9)
    assert mean["low"] < mean["mean_days"] < mean["high"]


def test_rates_by_age_hold_every_failure_and_every_unit_year(answer, lives):
    rows = answer.more["hazard"]
    days = (lives["end_age"] - lives["entry_age"]).clip(lower=0).sum()

    assert sum(row["n_failed"] for row in rows) == answer.more["n_failed"]
    assert sum(row["unit_years"] for row in rows) == pytest.approx(days / 365.25)
    for row in rows:
        assert row["rate"] == pytest.approx(1000 * row["n_failed"] / row["unit_years"])
        assert row["low"] <= row["rate"] <= row["high"]


def test_laws_are_ranked_by_their_aicc(answer):
    laws = answer.more["laws"]
    best = min(laws, key=lambda row: row["aicc_failures"])

    assert laws[0]["distribution"] == "weibull"
    assert {row["distribution"] for row in laws} == {
        "weibull",
        "lognormal",
        "exponential",
    }
    assert answer.more["choice"]["best"] == best["distribution"]
    assert best["aicc_difference"] == 0
    for row in laws:
        is_close = row["aicc_difference"] < 2
        assert (row["standing"] in {"best", "tie"}) == is_close


def test_each_of_two_groups_holds_its_units_and_failures(snapshot, lives):
    found = life(snapshot, Filters(), by="connector").more["comparison"]
    first, second = (group["group"] for group in found["groups"])
    of_first, of_second = (
        lives[lives["connector"] == name] for name in (first, second)
    )

    assert [group["n_units"] for group in found["groups"]] == [
        len(of_first),
        len(of_second),
    ]
    assert [group["n_failed"] for group in found["groups"]] == [
        of_first["mode"].notna().sum(),
        of_second["mode"].notna().sum(),
    ]


def fleet_of_two(folder, *, first, second, **more):
    """Publish two suppliers, with the ages at which their units failed (of 40 each)."""
    start = small_fleet.dt.date(2025, 1, 1)
    units, cases = [], []
    for supplier, days in (("East", first), ("West", second)):
        for n in range(40):
            serial = f"{supplier}-{n:02}"
            units.append(
                small_fleet.unit(serial, cable_supplier=supplier, **more)
                | {"model": f"Model {'AB'[n % 2]}"}
            )
            if n < len(days):
                day = str(start + small_fleet.dt.timedelta(days=days[n]))
                cases.append(
                    small_fleet.case(
                        f"R-{serial}",
                        serial,
                        received_on=day,
                        failed_on=day,
                        confirmed_mode="handle_pilot_open"
                        if n % 3
                        else "control_supply_failed",
                        confirmed_on=day,
                    )
                )
    return small_fleet.published(folder, units, cases)


EARLY = [20 + 7 * n for n in range(24)]
LATE = [100 + 20 * n for n in range(9)]


def test_a_group_that_fails_more_is_named_with_shares_and_counts(tmp_path):
    snapshot = fleet_of_two(tmp_path, first=EARLY, second=LATE)
    lives = pd.DataFrame.from_dict(small_fleet.lives(snapshot), orient="index")
    is_east = lives.index.str.startswith("EAST")

    found = life(snapshot, Filters(), by="cable_supplier").more["comparison"]

    _, expected = compare_survival(
        Surv.from_arrays(lives["mode"].notna(), lives["end_age"]), is_east
    )
    assert found["tests"][0]["p_value"] == pytest.approx(expected, rel=1e-6)
    assert found["sentence"].startswith("East fails more often than West at the same")
    assert "24 of 40 units" in found["sentence"]
    assert "do not say" in found["sentence"]


def test_groups_within_strata_are_compared_stratum_by_stratum(tmp_path):
    snapshot = fleet_of_two(tmp_path, first=EARLY, second=LATE)
    found = life(snapshot, Filters(), by="cable_supplier", within="model")

    test = found.more["comparison"]["tests"][0]

    assert "within model" in test["what"]
    assert test["degrees_of_freedom"] == 1
    plain = life(snapshot, Filters(), by="cable_supplier").more["comparison"]
    assert test["p_value"] != plain["tests"][0]["p_value"]


def test_a_choice_of_failures_is_compared_by_gray_test_too(tmp_path):
    snapshot = fleet_of_two(tmp_path, first=EARLY, second=LATE)
    filters = Filters(mode=("handle_pilot_open",))

    tests = life(snapshot, filters, by="cable_supplier").more["comparison"]["tests"]

    assert [test["test"] for test in tests] == ["log-rank", "Gray"]


def test_groups_that_fail_alike_are_not_told_apart(tmp_path):
    snapshot = fleet_of_two(tmp_path, first=LATE, second=LATE)

    found = life(snapshot, Filters(), by="cable_supplier").more["comparison"]

    assert found["tests"][0]["p_value"] == pytest.approx(1)
    assert found["sentence"].startswith("The data do not show that")


def test_one_group_alone_says_that_two_are_needed(tmp_path):
    snapshot = fleet_of_two(tmp_path, first=EARLY, second=LATE)

    with pytest.raises(InsufficientDataError, match="groups of cable_supplier") as told:
        life(snapshot, Filters(cable_supplier=("East",)), by="cable_supplier")

    assert (told.value.needed, told.value.found) == (2, 1)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({"by": "colour"}, "by colour is not known"),
        ({"group": ("A", "B")}, "without the word that tells them apart"),
        ({"by": "model", "within": "model"}, "cannot be compared within model"),
        ({"by": "model", "group": ("A",)}, "1 groups were named"),
        ({"by": "model", "group": ("A", "B")}, "No unit under the filters has model"),
        ({"age": (-1.0,)}, "age -1 is not a number of days"),
        ({"assumed_shape": (0.0, 1.0)}, "is no range"),
        ({"assumed_shape": (1.0, 2.0, 3.0)}, "is no range"),
    ],
)
def test_words_that_do_not_go_together_are_refused(snapshot, words, said):
    with pytest.raises(UsageError, match=said):
        life(snapshot, Filters(), **words)


def test_what_would_remain_without_a_mode_is_more_than_survives_with_it(snapshot):
    found = life(snapshot, Filters(component=("handle",))).more["without"]

    assert "assumes" in found["sentence"]
    for row in found["rows"]:
        assert row["failed"] < row["failed_with"]
        assert row["low"] <= row["failed"] <= row["high"]


def test_without_a_choice_of_failures_nothing_is_taken_away(answer):
    assert answer.more["without"] is None


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


@pytest.mark.parametrize("name", sorted({*PARTS} - {"assumed", "brackets"}))
def test_each_part_is_a_table_of_its_own(snapshot, name):
    found = life(snapshot, Filters(component=("handle",)), by="environment")

    assert part(found, name).rows


def test_a_part_that_was_not_asked_for_is_refused(answer):
    with pytest.raises(NotFoundError, match="no table groups"):
        part(answer, "groups")


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

    found = life(snapshot, Filters()).more["bracketed"]

    assert found["n_bracketed"] == 10
    assert found["rows"][0]["from_days"] == 59  # 2025-03-01
    assert sum(row["share"] for row in found["rows"]) == pytest.approx(1 / 3)
    # All ten may have failed by the first of September; the curve counts one.
    assert found["rows"][0]["failed"] == pytest.approx(1 / 3, abs=1e-6)
    assert found["rows"][0]["curve_failed"] == pytest.approx(1 / 30)
    assert "33.3 instead of 3.33 %" in found["sentence"]


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
