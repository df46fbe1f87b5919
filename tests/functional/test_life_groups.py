"""Two groups of units compared, beside scikit-survival on the unit rows.

Oracle  scikit-survival (log-rank test) on one row a unit, read from the same snapshot;
        the answer itself counts in the database.
"""

import pandas as pd
import pytest
from sksurv.compare import compare_survival
from sksurv.util import Surv

from analytics.errors import InsufficientDataError
from dashboard.filters import Filters
from dashboard.queries.life import life
from tests import small_fleet


@pytest.fixture
def lives(snapshot):
    """One row a unit, with the group words of its unit."""
    frame = pd.DataFrame.from_dict(small_fleet.lives(snapshot), orient="index")
    units = snapshot.ask("units", Filters().parameters(), chosen="chosen_units")
    return frame.join(units.set_index("serial")[["connector"]])


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


def test_a_choice_of_failures_says_what_its_test_and_shares_are_about(tmp_path):
    snapshot = fleet_of_two(tmp_path, first=EARLY, second=LATE)
    filters = Filters(mode=("handle_pilot_open",))

    found = life(snapshot, filters, by="cable_supplier", within="model")
    compared = found.more["comparison"]

    assert compared["sentence"].startswith("East fails this way more often than West")
    assert (
        "Failed this way in the first year, if no other failure existed:"
        in (compared["sentence"])
    )
    assert "not within model" in compared["tests"][1]["what"]


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
