"""Data quality, how late reports come in: counted by hand on a few cases."""

import datetime as dt

import pytest

from dashboard.filters import Filters
from dashboard.queries.quality import quality
from dashboard.queries.quality_late import SHARES, late_reports
from tests import small_fleet
from tests.small_fleet import AS_OF, case, unit

MONTH = dt.date(2025, 6, 1)


def late(folder, cases, filters=None, **words):
    units = [unit(f"A{n:03}", site="Harbour") for n in range(len(cases))]
    snapshot = small_fleet.published(folder, units, cases, **words)
    return late_reports(snapshot, filters or Filters())


def a_case(n, *, failed=MONTH, receipt, confirmation=None, mode="handle_pilot_open"):
    """Return a case by its delays from the failure, in days."""
    fields = {"failed_on": failed, "received_on": failed + dt.timedelta(receipt)}
    if confirmation is not None:
        on = failed + dt.timedelta(confirmation)
        fields |= {"confirmed_on": on, "confirmed_mode": mode}
    return case(f"R{n}", f"A{n:03}", **fields)


def step(answer, name):
    return [row for row in answer["steps"] if row["step"] == name]


def test_delays_seen_to_the_end_give_the_plain_quantiles(tmp_path):
    # Twenty cases, all half a year before the day: delays of 1 to 20 days to receipt,
    # and 10 more to confirmation.
    cases = [a_case(n, receipt=n + 1, confirmation=n + 11) for n in range(20)]

    answer = late(tmp_path, cases)

    assert [row["share"] for row in step(answer, "reported")] == list(SHARES)
    assert [row["days"] for row in step(answer, "reported")] == [10, 16, 19]
    assert [row["days"] for row in step(answer, "confirmed")] == [20, 26, 29]
    assert {row["n_delays"] for row in answer["steps"]} == {20}
    for row in answer["steps"]:
        assert row["low"] <= row["days"] <= row["high"]


def test_below_twenty_delays_there_is_a_count_and_no_number(tmp_path):
    answer = late(tmp_path, [a_case(n, receipt=3) for n in range(19)])

    assert answer["n_needed"] == 20
    for row in step(answer, "reported"):
        assert (row["n_delays"], row["days"], row["low"], row["high"]) == (
            19,
            None,
            None,
            None,
        )
    assert {row["n_delays"] for row in step(answer, "confirmed")} == {0}
    assert answer["months"][4]["n_received"] == 19
    assert answer["months"][4]["share_reported"] is None


def test_a_case_without_a_failure_day_of_its_own_gives_no_delay_to_receipt(tmp_path):
    cases = [a_case(n, receipt=3) for n in range(20)]
    cases.append(case("R99", "A001", received_on="2025-06-20"))

    assert step(late(tmp_path, cases), "reported")[0]["n_delays"] == 20


def test_returns_that_are_no_failures_give_no_delay_to_confirmation(tmp_path):
    cases = [
        a_case(0, receipt=3, confirmation=4),
        a_case(1, receipt=3, confirmation=4, mode="no_fault_found"),
    ]

    answer = late(tmp_path, cases)

    assert step(answer, "confirmed")[0]["n_delays"] == 1
    assert step(answer, "reported")[0]["n_delays"] == 2


def test_cases_received_over_a_year_ago_give_no_delay(tmp_path):
    old = dt.date(2024, 12, 1)
    cases = [
        a_case(0, failed=old, receipt=31),  # 2025-01-01, a year before to the day
        a_case(1, failed=old, receipt=32),
    ]

    assert step(late(tmp_path, cases), "reported")[0]["n_delays"] == 1


def test_the_95_percent_point_is_the_one_the_observation_ends_by(snapshot):
    answer = quality(snapshot, Filters())

    last = step(answer.more["late"], "confirmed")[-1]
    assert last["share"] == 0.95
    assert last["days"] == answer.more["delay_days"]
    assert last["n_delays"] == answer.more["n_delays"]


def test_months_count_by_the_failure_and_know_what_is_still_to_come(tmp_path):
    # Every case takes 10 days to receipt: of the days of December up to the 31st
    # (21 in, 10 not yet: the 22nd is 10 days before the 1st of January).
    cases = [a_case(n, receipt=10) for n in range(20)]

    months = late(tmp_path, cases)["months"]

    assert [row["month"] for row in months][::11] == ["2025-02", "2026-01"]
    june, december, january = months[4], months[10], months[11]
    assert (june["month"], june["n_received"], june["n_confirmed"]) == (
        "2025-06",
        20,
        0,
    )
    assert june["share_reported"] == 1
    assert december["share_reported"] == pytest.approx(22 / 31)
    assert january["share_reported"] == 0
    assert january["n_received"] == 0


def test_a_month_is_complete_when_its_failures_are_known_to_the_last_day(tmp_path):
    # Confirmed within 20 days: failures count up to 12 December.
    cases = [a_case(n, receipt=10, confirmation=20) for n in range(20)]

    months = late(tmp_path, cases)["months"]

    assert {row["month"]: row["is_complete"] for row in months[-3:]} == {
        "2025-11": True,
        "2025-12": False,
        "2026-01": False,
    }


def test_a_month_that_has_not_ended_is_not_complete(tmp_path):
    day = dt.date(2025, 7, 15)

    months = late(tmp_path, [a_case(0, receipt=1)], as_of=day)["months"]

    assert (months[-1]["month"], months[-1]["is_complete"]) == ("2025-07", False)
    assert (months[-2]["month"], months[-2]["is_complete"]) == ("2025-06", True)


def test_filters_choose_the_cases(tmp_path):
    filters = Filters.of({"site": ["Elsewhere"]})

    answer = late(tmp_path, [a_case(0, receipt=1)], filters=filters)

    assert {row["n_delays"] for row in answer["steps"]} == {0}
    assert {row["n_received"] for row in answer["months"]} == {0}
    assert dt.date(2026, 1, 1) == AS_OF  # the days above rest on it


def test_the_last_day_of_the_calendar_is_counted_like_any_other(tmp_path):
    # 9999-12-31 is what some programs write for "never"; no day comes after it.
    answer = late(
        tmp_path,
        [case("R1", "A000", received_on=dt.date(9999, 12, 31))],
        as_of=dt.date(9999, 12, 31),
    )

    received = {row["month"]: row["n_received"] for row in answer["months"]}
    assert received["9999-12"] == 1
