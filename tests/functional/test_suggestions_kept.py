"""Suggestions kept for open cases: given once, held against causes confirmed later.

Counts of the small fleet are by hand.
"""

import datetime as dt

import pandas as pd
import pytest

from analytics.advice.suggest import FaultSuggester
from analytics.rollup import suggested
from analytics.rollup.snapshot import current_snapshot
from ingest.errors import DiskError, RefusedError, StoreBusyError
from ingest.suggestions import record_suggestions
from tests import small_fleet
from tests.open_cases import (
    CONFIRMED,
    JUNE,
    OPEN,
    UNITS,
    again,
    fared,
    kept,
    published,
    take_in,
)
from tests.small_fleet import case, unit


@pytest.fixture
def folder(tmp_path):
    return published(tmp_path)


def test_each_open_case_is_given_what_the_bench_would_say(folder):
    snapshot = current_snapshot(folder / "published")
    model = FaultSuggester.load(snapshot.suggester_folder)

    found = kept(folder)

    assert set(found) == {"R100", "R101", "R102"}
    for case_id, symptoms in (("R100", "stops_when_cable_moved"), ("R102", None)):
        intake = {"symptoms": symptoms, "model": "Model A", "age_days": 151}
        said = model.suggest(intake, top=5)
        row = found[case_id]
        assert list(row["modes"]) == [str(one.cause) for one in said.ranked]
        assert row["probabilities"] == pytest.approx(
            [one.probability for one in said.ranked]
        )
        assert row["is_enough"] == said.enough_evidence
        assert row["snapshot"] == snapshot.about.snapshot
        assert row["suggester"] == snapshot.about.suggester
        assert row["n_cases"] == 20
    assert found["R100"]["modes"][0] == "handle_pilot_open"


def test_the_same_records_give_the_same_figures_once_suggestions_are_kept(folder):
    first, before = current_snapshot(folder / "published"), kept(folder)

    second = again(folder)

    assert second.about.snapshot == first.about.snapshot
    assert repr(kept(folder)) == repr(before)
    assert {row["state"] for row in fared(second).values()} == {"open"}


def test_the_first_suggestion_stays_whatever_is_learned_later(folder):
    before = kept(folder)["R100"]
    take_in(
        folder,
        *(
            case(
                f"R{n}",
                f"A0{n - 177}",
                symptoms="stops_when_cable_moved",
                confirmed_mode="cable_pilot_open",
            )
            for n in range(200, 206)
        ),
    )

    again(folder, train=True)

    assert repr(kept(folder)["R100"]) == repr(before)


def test_what_was_suggested_is_held_against_the_cause_confirmed_later(folder):
    before = kept(folder)
    given = before["R100"]["given_on"].date()
    take_in(
        folder,
        OPEN[0]
        | {
            "confirmed_mode": before["R100"]["modes"][1],
            "confirmed_on": str(given - dt.timedelta(days=2)),
        },
        OPEN[1] | {"closed_on": "2025-06-20"},
    )

    first = current_snapshot(folder / "published")
    found = fared(again(folder, as_of=given))

    assert {name: row["state"] for name, row in found.items()} == {
        "R100": "confirmed",
        "R101": "closed",
        "R102": "open",
    }
    assert found["R100"]["rank"] == 2
    assert found["R100"]["probability"] == before["R100"]["probabilities"][1]
    assert found["R100"]["top_probability"] == before["R100"]["probabilities"][0]
    assert found["R100"]["days_to_confirmation"] == -2  # taken in late
    assert found["R100"]["suggester"] == first.about.suggester


def test_a_mode_that_was_not_among_those_kept_has_no_rank(folder):
    assert "holster_damaged" not in kept(folder)["R100"]["modes"]
    take_in(folder, OPEN[0] | {"confirmed_mode": "holster_damaged"})

    row = fared(again(folder))["R100"]

    assert row["state"] == "confirmed"
    assert pd.isna(row["rank"])
    assert pd.isna(row["probability"])


def test_nothing_is_suggested_for_a_cause_that_is_known_after_the_day(tmp_path):
    known = case(
        "R300",
        "A001",
        confirmed_mode="handle_pilot_open",
        confirmed_on="2025-06-29",
    )
    small_fleet.published(
        tmp_path, UNITS, [*CONFIRMED[2:], known], as_of=dt.date(2025, 6, 15)
    )

    assert not kept(tmp_path)
    assert not fared(current_snapshot(tmp_path / "published"))


def test_a_cause_taken_back_by_a_later_file_is_no_open_case(tmp_path):
    small_fleet.published(tmp_path, UNITS, CONFIRMED, as_of=JUNE)
    take_in(tmp_path, CONFIRMED[0] | {"confirmed_mode": ""})

    again(tmp_path)

    assert not kept(tmp_path)


def test_a_cause_taken_in_while_figures_were_made_keeps_the_suggestion_out(folder):
    rows = suggested.GIVEN.empty_table().from_pylist(
        [
            {
                "case_id": name,
                "is_enough": True,
                "modes": ["fuse_open"],
                "probabilities": [1.0],
            }
            for name in ("R000", "R100", "R900")
        ],
        schema=suggested.GIVEN,
    )

    n_new = record_suggestions(
        folder / "store.duckdb",
        rows,
        snapshot="s",
        suggester="t",
        n_cases=1,
        given_on=dt.datetime(2025, 7, 1),  # noqa: DTZ001 - the store keeps UTC without a zone
    )

    assert n_new == 1  # R000 is confirmed, R100 has its own already
    assert set(kept(folder)) == {"R100", "R101", "R102", "R900"}


def test_figures_that_fail_leave_no_suggestion(tmp_path, monkeypatch):
    def refused(*_):
        raise RefusedError("Not published.", hint="")

    small_fleet.published(tmp_path, UNITS, CONFIRMED, as_of=JUNE)
    take_in(tmp_path, *OPEN)
    monkeypatch.setattr("analytics.rollup.publish.check_balance", refused)
    with pytest.raises(RefusedError):
        again(tmp_path)
    monkeypatch.undo()

    def full(*_):
        raise DiskError("full", hint="")

    monkeypatch.setattr("analytics.rollup.publish.point_to", full)
    with pytest.raises(DiskError):
        again(tmp_path)

    assert not kept(tmp_path)


def test_a_store_in_use_keeps_none_and_the_next_publish_does(tmp_path, monkeypatch):
    def busy(*_, **__):
        raise StoreBusyError("busy", hint="")

    monkeypatch.setattr(suggested, "record_suggestions", busy)
    first = small_fleet.published(tmp_path, UNITS, [*CONFIRMED, *OPEN], as_of=JUNE)
    assert not kept(tmp_path)
    monkeypatch.undo()

    assert again(tmp_path).about.snapshot == first.about.snapshot
    assert len(kept(tmp_path)) == 3


def test_without_a_suggester_that_can_be_read_nothing_is_kept(tmp_path):
    snapshot = small_fleet.published(tmp_path, UNITS, CONFIRMED, as_of=JUNE)
    take_in(tmp_path, *OPEN)
    (snapshot.suggester_folder / "suggester.json").write_text("{}", encoding="utf-8")

    found = again(tmp_path)

    assert found.about.suggester == snapshot.about.suggester
    assert not kept(tmp_path)
    again(tmp_path, train=True)
    assert len(kept(tmp_path)) == 3


def test_many_open_cases_are_suggested_for_in_blocks(tmp_path, monkeypatch):
    monkeypatch.setattr(suggested, "AT_ONCE", 1)  # of 2 048 cases
    units = [*UNITS, *(unit(f"B{n:04}") for n in range(2100))]
    cases = [*CONFIRMED, *(case(f"S{n:04}", f"B{n:04}") for n in range(2100))]

    small_fleet.published(tmp_path, units, cases, as_of=JUNE)

    found = kept(tmp_path)
    assert len(found) == 2100
    assert len({repr(row["probabilities"]) for row in found.values()}) == 1
