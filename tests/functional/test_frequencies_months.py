"""Months of failure: which are complete, and where the list ends; counted by hand."""

import datetime as dt

import pytest

from analytics.rollup.rules import LifeRules
from dashboard.filters import Filters
from dashboard.queries.modes import modes
from tests import small_fleet

YEAR = 365.25


def failed(case_id, serial, day):
    return small_fleet.case(
        case_id,
        serial,
        received_on=day,
        failed_on=day,
        confirmed_mode="contactor_welded",
    )


def test_months_that_are_not_complete_are_in_neither_part_of_a_rate(tmp_path):
    units = [small_fleet.unit(f"A{n:03}") for n in range(4)]
    cases = [failed("R1", "A001", "2025-10-05"), failed("R2", "A002", "2025-11-05")]
    snapshot = small_fleet.published(
        tmp_path, units, cases, rules=LifeRules(confirmation_delay_days=40)
    )

    answer = modes(snapshot, Filters())

    # Known up to 2025-11-22: October is the last complete month.
    assert answer.more["rate_basis"]["last_day"] == dt.date(2025, 10, 31)
    assert answer.rows[0]["n_cases"] == 2
    assert answer.rows[0]["n_in_rate"] == 1
    assert answer.rows[0]["unit_years"] == pytest.approx(4 * 31 / YEAR)
    october, november = answer.more["months"]
    assert october["is_complete"]
    assert october["rate"] == pytest.approx(1000 / (4 * 31 / YEAR))
    assert not november["is_complete"]
    assert november["rate"] is None


def test_months_end_with_the_last_one_whose_reports_are_in(tmp_path):
    units = [small_fleet.unit(f"A{n:03}") for n in range(4)]
    cases = [failed("R1", "A001", "2025-09-05")]
    snapshot = small_fleet.published(
        tmp_path, units, cases, rules=LifeRules(confirmation_delay_days=40)
    )

    # Known up to 2025-11-22; received up to 30 November, up to 21 October.
    for to, last in ((None, "2025-10"), ("2025-11-30", "2025-09")):
        filters = Filters.of({"to": to} if to else {})
        months = modes(snapshot, filters).more["months"]
        assert [row["month"] for row in months][-1] == last
        assert all(row["is_complete"] for row in months)
