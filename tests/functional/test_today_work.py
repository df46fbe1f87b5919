"""Open work by age, by hand, and how long a step takes with cases still in it.

The medians of the steps: Kaplan and Meier (1958), worked out beside each check.
"""

import datetime as dt

from dashboard.filters import Filters
from dashboard.queries.today import part, today
from dashboard.queries.today_words import state_sentence
from dashboard.settings import Place
from tests.small_fleet import AS_OF, case, published, unit

UNITS = [unit(f"U-{n:03}") for n in range(10)]


def days_before(days):
    return str(AS_OF - dt.timedelta(days=days))


def waiting(name, days):
    return case(name, f"U-00{name[-1]}", received_on=days_before(days))


def confirmed(name, received, known, closed=None):
    fields = {"closed_on": days_before(closed)} if closed is not None else {}
    return case(
        name,
        f"U-00{name[-1]}",
        received_on=days_before(received),
        confirmed_mode="fuse_open",
        confirmed_on=days_before(known),
        **fields,
    )


def answered(tmp_path, cases, **words):
    published(tmp_path, UNITS, cases)
    return today(Place(tmp_path), Filters.of(words))


def by_state(answer, state):
    return next(row for row in answer.more["work_states"] if row["state"] == state)


def test_open_work_is_counted_by_state_and_age(tmp_path):
    cases = [
        *(waiting("R0", 0), waiting("R1", 7), waiting("R2", 8), waiting("R3", 400)),
        *(confirmed("R4", 60, 40), confirmed("R5", 60, 50, closed=30)),
    ]

    answer = answered(tmp_path, cases)

    counted = {
        (row["state"], row["band"]): row["n_cases"]
        for row in answer.more["open_work"]
        if row["n_cases"]
    }
    assert counted == {
        ("waiting_for_confirmation", "0 to 7 days"): 2,
        ("waiting_for_confirmation", "8 to 30 days"): 1,
        ("waiting_for_confirmation", "over 365 days"): 1,
        ("confirmed_not_closed", "31 to 90 days"): 1,
    }
    assert len(answer.more["open_work"]) == 10


def test_the_oldest_and_the_median_of_those_waiting(tmp_path):
    answer = answered(tmp_path, [waiting(f"R{n}", n * 10) for n in range(4)])

    row = by_state(answer, "waiting_for_confirmation")

    assert (row["n_cases"], row["median_days"]) == (4, 15.0)
    assert (row["oldest_days"], row["oldest_case_id"]) == (30, "R3")
    assert by_state(answer, "confirmed_not_closed")["oldest_days"] is None


def test_cases_still_waiting_count_as_long_as_they_have_waited(tmp_path):
    # Done after 10, 20 and 30 days, one still waiting after 15: survival 3/4 from 10,
    # 3/4 * 1/2 = 3/8 from 20 days on. Of the done alone the median would be 20 too, but
    # with the one waiting after 25 days survival is 3/4, 1/2, so 20 again; with two
    # waiting after 25 days 4/5, 3/5, then 0 of the last: 30.
    done = [
        confirmed("R0", 100, 90),
        confirmed("R1", 100, 80),
        confirmed("R2", 100, 70),
    ]
    still = [waiting("R3", 25), waiting("R4", 25)]

    row = by_state(answered(tmp_path, [*done, *still]), "waiting_for_confirmation")

    assert (row["step_median_days"], row["n_done"], row["n_going"]) == (30.0, 3, 2)


def test_a_step_that_most_have_not_done_has_no_median(tmp_path):
    cases = [confirmed("R0", 100, 90), waiting("R1", 50), waiting("R2", 60)]

    row = by_state(answered(tmp_path, cases), "waiting_for_confirmation")

    assert row["step_median_days"] is None
    assert "fewer than half are through it yet" in state_sentence(row)


def test_without_a_finished_step_the_data_do_not_say(tmp_path):
    answer = answered(tmp_path, [waiting("R0", 3)])

    sentence = state_sentence(by_state(answer, "confirmed_not_closed"))

    assert sentence.startswith("Confirmed, not closed: none.")
    assert "the data do not say" in sentence


def test_a_case_without_days_of_confirmation_gives_no_step(tmp_path):
    cases = [
        case("R0", "U-000", received_on=days_before(20), confirmed_mode="fuse_open")
    ]

    answer = answered(tmp_path, cases)

    assert by_state(answer, "waiting_for_confirmation")["n_done"] == 0
    assert by_state(answer, "confirmed_not_closed")["n_cases"] == 1


def test_whether_closing_is_recorded_at_all_is_said(tmp_path):
    answer = answered(tmp_path / "a", [waiting("R0", 3)])
    assert answer.more["closing_is_recorded"] is False

    closed = answered(tmp_path / "b", [confirmed("R5", 60, 50, closed=30)])
    assert closed.more["closing_is_recorded"] is True


def test_a_case_closed_without_a_mode_is_no_open_work(tmp_path):
    cases = [
        case("R0", "U-000", received_on=days_before(20), closed_on=days_before(10))
    ]

    answer = answered(tmp_path, cases)

    assert sum(row["n_cases"] for row in answer.more["open_work"]) == 0


def test_filters_choose_open_work(tmp_path):
    answer = answered(
        tmp_path, [waiting("R0", 3), waiting("R1", 40)], **{"from": days_before(10)}
    )

    assert sum(row["n_cases"] for row in answer.more["open_work"]) == 1


def test_each_part_is_an_answer_of_its_own(tmp_path):
    answer = answered(tmp_path, [waiting("R0", 3)])

    assert part(answer, "work").rows == answer.more["open_work"]
    assert part(answer, "steps").rows == answer.more["work_states"]
    assert part(answer, "changes").rows == answer.more["changes"]
