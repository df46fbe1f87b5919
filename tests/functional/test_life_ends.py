"""Up to which day lives are followed: warranty terms and late reports.

2025-01-01 is day 0 of most units; 2026-01-01, the day the data speak for, is day 365.
"""

import datetime as dt

from analytics.rollup.rules import LifeRules, ModelRules
from tests.small_fleet import AS_OF, case, lives, published, unit

FAILED = {"confirmed_mode": "handle_pilot_open", "confirmed_on": "2025-06-10"}


def test_failures_after_the_term_do_not_count_where_they_are_not_seen(tmp_path):
    rules = LifeRules(failures_seen="in_warranty")
    units = [
        unit("U-001", warranty_months=3),  # the term ends on day 90
        unit("U-002", warranty_months=6),
        unit("U-003"),  # no term known: followed to the end
    ]
    cases = [
        case(f"R{n}", f"U-00{n}", failed_on="2025-05-01", **FAILED) for n in (1, 2)
    ]

    found = lives(published(tmp_path, units, cases, rules=rules))

    assert (found["U-001"]["end_age"], found["U-001"]["mode"]) == (90, None)
    assert (found["U-002"]["end_age"], found["U-002"]["mode"]) == (
        120,
        "handle_pilot_open",
    )
    assert found["U-003"]["end_age"] == 365


def test_the_term_of_the_model_holds_where_the_unit_has_none(tmp_path):
    rules = LifeRules(
        failures_seen="in_warranty", models={"Model A": ModelRules(warranty_months=3)}
    )

    life = lives(published(tmp_path, [unit("U-001")], [], rules=rules))["U-001"]

    assert life["end_age"] == 90


def test_an_extended_warranty_moves_the_end_of_the_term(tmp_path):
    rules = LifeRules(failures_seen="in_warranty")
    units = [unit("U-001", warranty_months=3, warranty_extended_to="2025-04-11")]

    assert lives(published(tmp_path, units, [], rules=rules))["U-001"]["end_age"] == 100


def test_the_observation_ends_earlier_by_the_delay_in_the_settings(tmp_path):
    rules = LifeRules(confirmation_delay_days=30)

    snapshot = published(tmp_path, [unit("U-001")], [], rules=rules)

    assert snapshot.about.observation_end == AS_OF - dt.timedelta(days=30)
    assert snapshot.about.delay_source == "assumed"
    assert lives(snapshot)["U-001"]["end_age"] == 335


def test_a_failure_after_the_observation_end_keeps_its_unit_as_a_survivor(tmp_path):
    rules = LifeRules(confirmation_delay_days=30)
    cases = [
        case(
            "R1",
            "U-001",
            received_on="2025-12-15",
            confirmed_mode="handle_pilot_open",
            confirmed_on="2025-12-20",
        )
    ]

    life = lives(published(tmp_path, [unit("U-001")], cases, rules=rules))["U-001"]

    assert (life["end_age"], life["mode"]) == (335, None)


def test_from_twenty_delays_on_the_observation_end_is_estimated(tmp_path):
    # Twenty failures, all confirmed 7 days after they were first seen and all long
    # ago: every delay is complete by day 7, so the 95 % point is 7 days.
    units = [unit(f"U-{n:03}") for n in range(20)]
    cases = [
        case(
            f"R{n}",
            f"U-{n:03}",
            failed_on="2025-05-25",
            confirmed_mode="handle_pilot_open",
            confirmed_on="2025-06-01",
        )
        for n in range(20)
    ]

    snapshot = published(tmp_path, units, cases)

    assert snapshot.about.delay_source == "estimated"
    assert snapshot.about.n_delays == 20
    assert snapshot.about.observation_end == AS_OF - dt.timedelta(days=7)


def test_nineteen_delays_are_too_few_to_estimate_from(tmp_path):
    units = [unit(f"U-{n:03}") for n in range(19)]
    cases = [case(f"R{n}", f"U-{n:03}", **FAILED) for n in range(19)]

    snapshot = published(tmp_path, units, cases)

    assert (snapshot.about.delay_source, snapshot.about.n_delays) == ("assumed", 19)


def test_delays_of_cases_received_over_a_year_before_do_not_count(tmp_path):
    units = [unit(f"U-{n:03}", in_service_on="2024-01-01") for n in range(20)]
    cases = [
        case(
            f"R{n}",
            f"U-{n:03}",
            received_on="2024-12-31",
            confirmed_mode="handle_pilot_open",
            confirmed_on="2025-01-05",
        )
        for n in range(20)
    ]

    assert published(tmp_path, units, cases).about.n_delays == 0


def test_a_case_of_an_unknown_unit_is_kept_and_counted_but_gives_no_life(tmp_path):
    cases = [case("R1", "NOBODY-1", **FAILED)]

    snapshot = published(tmp_path, [unit("U-001")], cases)

    assert snapshot.about.n_cases == 1
    assert set(lives(snapshot)) == {"U-001"}
    assert snapshot.ask("unknown_serials")["n_cases"].iloc[0] == 1
