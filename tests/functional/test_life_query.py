"""The life answer on a published invented fleet, beside lifelines on its unit rows.

Oracle  lifelines (curve) on one row a unit, read from the same snapshot; the answer
        itself counts in the database.
"""

import lifelines
import numpy as np
import pandas as pd
import pytest

from dashboard.filters import Filters
from dashboard.queries.life import life
from dashboard.queries.life_ages import YEAR
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


@pytest.mark.parametrize("name", sorted({*PARTS} - {"assumed", "brackets"}))
def test_each_part_is_a_table_of_its_own(snapshot, name):
    found = life(snapshot, Filters(component=("handle",)), by="environment")

    assert part(found, name).rows


def test_a_part_that_was_not_asked_for_is_refused(answer):
    with pytest.raises(NotFoundError, match="no table groups"):
        part(answer, "groups")
