import datetime as dt

import pytest
from pydantic import ValidationError

from dashboard.filters import Filters, nearest_hint
from ingest.errors import UsageError


def test_a_single_word_and_a_list_are_the_same_choice():
    assert Filters.of({"model": "A"}) == Filters.of({"model": ["A"]})


def test_nothing_chosen_states_nothing():
    assert Filters().stated() == {}
    assert Filters().sentence() == ""


def test_filters_are_stated_in_the_words_of_the_address():
    filters = Filters.of({"from": dt.date(2026, 1, 1), "cable_supplier": ["B", "C"]})

    assert filters.stated() == {"cable_supplier": ["B", "C"], "from": "2026-01-01"}
    assert filters.sentence() == "cable supplier: B, C; from: 2026-01-01"


def test_an_unknown_code_names_the_nearest():
    with pytest.raises(UsageError, match="the nearest is handle_pilot_open"):
        Filters.of({"mode": "handle_pilot_opn"})


def test_an_unknown_code_with_nothing_near_names_all():
    with pytest.raises(UsageError, match="known are critical, degraded, incipient"):
        Filters.of({"severity": "xyzzy"})


def test_days_the_wrong_way_round_are_refused():
    words = {"from": dt.date(2026, 2, 1), "to": dt.date(2026, 1, 1)}

    with pytest.raises(UsageError, match="from 2026-02-01 is after to 2026-01-01"):
        Filters.of(words)


def test_an_unknown_filter_is_refused():
    with pytest.raises(ValidationError, match="Extra inputs are not permitted"):
        Filters.model_validate({"colour": "blue"})


def test_component_and_severity_together_choose_the_modes_of_both():
    chosen = Filters(component=("cable",), severity=("critical",)).parameters()

    assert chosen["modes"] == [
        "cable_earth_open",
        "cable_jacket_damaged",
        "cable_insulation_low",
    ]


def test_a_filter_of_units_alone_names_no_failures():
    assert not Filters(model=("A",)).names_failures
    assert Filters(mechanism=("corrosion",)).names_failures


def test_a_hint_names_no_more_words_than_can_be_read():
    hint = nearest_hint("??", [f"LOT-{n:03}" for n in range(100)])

    assert hint.startswith("known are LOT-000, LOT-001, ")
    assert hint.endswith("LOT-059 and 40 more")
