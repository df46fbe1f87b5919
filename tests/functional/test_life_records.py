"""From records to lives: each rule on units counted by hand.

2025-01-01 is day 0 of most units; 2026-01-01, the day the data speak for, is day 365.
"""

import datetime as dt

import pytest

from analytics.rollup.rules import LifeRules, ModelRules
from tests.small_fleet import case, left_out, lives, published, unit

FAILED = {"confirmed_mode": "handle_pilot_open", "confirmed_on": "2025-06-10"}


def test_a_unit_without_return_is_censored_on_the_last_day(tmp_path):
    snapshot = published(tmp_path, [unit("U-001")], [])

    assert lives(snapshot)["U-001"]["end_age"] == 365
    assert lives(snapshot)["U-001"]["mode"] is None


def test_a_failure_ends_a_life_on_the_day_it_was_first_seen(tmp_path):
    cases = [case("R1", "U-001", failed_on="2025-05-01", **FAILED)]

    life = lives(published(tmp_path, [unit("U-001")], cases))["U-001"]

    assert (life["end_age"], life["mode"]) == (120, "handle_pilot_open")


def test_without_a_failure_day_it_is_receipt_less_the_lag_of_the_model(tmp_path):
    rules = LifeRules(models={"Model A": ModelRules(reporting_lag_days=10)})
    cases = [case("R1", "U-001", received_on="2025-04-21", **FAILED)]

    life = lives(published(tmp_path, [unit("U-001")], cases, rules=rules))["U-001"]

    assert life["end_age"] == 100


def test_without_a_lag_in_the_settings_the_failure_day_is_the_receipt(tmp_path):
    cases = [case("R1", "U-001", received_on="2025-04-21", **FAILED)]

    assert lives(published(tmp_path, [unit("U-001")], cases))["U-001"]["end_age"] == 110


def test_a_unit_without_in_service_day_starts_after_the_usual_lag_of_its_model(
    tmp_path,
):
    # Lags of 10, 20 and 90 days: the median is 20. The fourth unit was shipped less
    # than 12 months before and does not count.
    units = [
        unit("U-001", shipped_on="2024-01-01", in_service_on="2024-01-11"),
        unit("U-002", shipped_on="2024-01-01", in_service_on="2024-01-21"),
        unit("U-003", shipped_on="2024-01-01", in_service_on="2024-03-31"),
        unit("U-004", shipped_on="2025-10-01", in_service_on="2025-10-02"),
        unit("U-005", shipped_on="2025-01-01", in_service_on=""),
    ]

    life = lives(published(tmp_path, units, []))["U-005"]

    assert life["end_age"] == 345
    assert life["in_service_estimated"]


def test_a_unit_with_neither_day_is_left_out_and_counted(tmp_path):
    units = [unit("U-001"), unit("U-002", in_service_on="")]

    assert left_out(published(tmp_path, units, [])) == {"U-002": "no_dates"}


def test_no_day_is_invented_where_the_usual_lag_is_not_known(tmp_path):
    units = [unit("U-001", in_service_on="", shipped_on="2025-01-01")]

    assert left_out(published(tmp_path, units, [])) == {"U-001": "no_dates"}


def test_a_failure_before_a_recorded_in_service_day_is_left_out(tmp_path):
    cases = [case("R1", "U-001", failed_on="2024-12-31", **FAILED)]

    snapshot = published(tmp_path, [unit("U-001")], cases)

    assert left_out(snapshot) == {"U-001": "failed_before_service"}


def test_a_failure_before_an_estimated_in_service_day_has_age_0(tmp_path):
    units = [
        unit("U-001", shipped_on="2024-01-01", in_service_on="2024-01-21"),
        unit("U-002", shipped_on="2025-01-01", in_service_on=""),
    ]
    cases = [case("R1", "U-002", failed_on="2025-01-10", **FAILED)]

    life = lives(published(tmp_path, units, cases))["U-002"]

    assert (life["end_age"], life["mode"]) == (0, "handle_pilot_open")
    assert life["in_service_estimated"]


def test_a_failure_before_registration_was_not_visible_and_is_left_out(tmp_path):
    units = [unit("U-001", registered_on="2025-05-02")]
    cases = [case("R1", "U-001", failed_on="2025-05-01", **FAILED)]

    snapshot = published(tmp_path, units, cases)

    assert left_out(snapshot) == {"U-001": "failed_before_registration"}


def test_a_unit_registered_late_is_at_risk_from_that_age_on(tmp_path):
    units = [unit("U-001", registered_on="2025-04-11")]
    cases = [case("R1", "U-001", failed_on="2025-05-01", **FAILED)]

    life = lives(published(tmp_path, units, cases))["U-001"]

    assert (life["entry_age"], life["end_age"]) == (100, 120)


def test_a_unit_registered_before_service_is_seen_from_new(tmp_path):
    units = [unit("U-001", registered_on="2024-12-01")]

    assert lives(published(tmp_path, units, []))["U-001"]["entry_age"] == 0


def test_a_unit_registered_after_its_end_is_left_out(tmp_path):
    units = [unit("U-001", registered_on="2025-05-01", retired_on="2025-04-01")]

    assert left_out(published(tmp_path, units, [])) == {"U-001": "registered_after_end"}


def test_a_unit_not_yet_in_service_is_left_out(tmp_path):
    units = [unit("U-001", in_service_on="2026-01-02")]

    assert left_out(published(tmp_path, units, [])) == {
        "U-001": "not_in_service_by_end"
    }


def test_retirement_ends_a_life_as_censored(tmp_path):
    units = [unit("U-001", retired_on="2025-04-11")]

    assert lives(published(tmp_path, units, []))["U-001"]["end_age"] == 100


@pytest.mark.parametrize(
    "mode",
    ["no_fault_found", "vehicle_side_fault", "supply_out_of_range", "supply_miswired"],
)
def test_a_return_that_is_no_failure_of_the_unit_changes_nothing(tmp_path, mode):
    cases = [case("R1", "U-001", confirmed_mode=mode, confirmed_on="2025-06-10")]

    life = lives(published(tmp_path, [unit("U-001")], cases))["U-001"]

    assert (life["end_age"], life["mode"]) == (365, None)


def test_only_the_first_failure_counts(tmp_path):
    cases = [
        case("R1", "U-001", failed_on="2025-05-01", **FAILED),
        case(
            "R2",
            "U-001",
            received_on="2025-09-01",
            confirmed_mode="contactor_welded",
            confirmed_on="2025-09-02",
        ),
    ]

    life = lives(published(tmp_path, [unit("U-001")], cases))["U-001"]

    assert (life["end_age"], life["mode"]) == (120, "handle_pilot_open")


def test_an_open_case_is_censored_on_the_failure_day_it_would_have(tmp_path):
    cases = [case("R1", "U-001", failed_on="2025-05-01")]

    life = lives(published(tmp_path, [unit("U-001")], cases))["U-001"]

    assert (life["end_age"], life["mode"], life["ends_open"]) == (120, None, True)


def test_a_case_confirmed_later_than_the_day_is_open_on_that_day(tmp_path):
    cases = [case("R1", "U-001", failed_on="2025-05-01", **FAILED)]

    snapshot = published(tmp_path, [unit("U-001")], cases, as_of=dt.date(2025, 6, 9))

    assert lives(snapshot)["U-001"]["ends_open"]


def test_a_case_received_later_than_the_day_does_not_exist_on_that_day(tmp_path):
    cases = [case("R1", "U-001", failed_on="2025-05-01", **FAILED)]

    snapshot = published(tmp_path, [unit("U-001")], cases, as_of=dt.date(2025, 5, 31))

    assert snapshot.about.n_cases == 0
    assert lives(snapshot)["U-001"]["end_age"] == 150


def test_a_mode_without_confirmation_day_counts_from_closing(tmp_path):
    cases = [
        case("R1", "U-001", confirmed_mode="handle_pilot_open", closed_on="2025-07-01")
    ]

    before = published(
        tmp_path / "before", [unit("U-001")], cases, as_of=dt.date(2025, 6, 30)
    )
    after = published(
        tmp_path / "after", [unit("U-001")], cases, as_of=dt.date(2025, 7, 1)
    )

    assert lives(before)["U-001"]["ends_open"]
    assert lives(after)["U-001"]["mode"] == "handle_pilot_open"


def test_a_bracketed_failure_keeps_the_age_at_which_the_unit_still_worked(tmp_path):
    cases = [
        case(
            "R1",
            "U-001",
            last_known_good_on="2025-04-11",
            failed_on="2025-05-01",
            **FAILED,
        )
    ]

    life = lives(published(tmp_path, [unit("U-001")], cases))["U-001"]

    assert (life["lower_age"], life["end_age"]) == (100, 120)


def test_a_bracket_that_begins_before_service_begins_at_age_0(tmp_path):
    cases = [
        case(
            "R1",
            "U-001",
            last_known_good_on="2024-12-01",
            failed_on="2025-05-01",
            **FAILED,
        )
    ]

    assert lives(published(tmp_path, [unit("U-001")], cases))["U-001"]["lower_age"] == 0
