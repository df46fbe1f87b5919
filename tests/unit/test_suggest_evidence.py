import math

import numpy as np
import pandas as pd
import pytest

from analytics.advice.evidence import incidence, is_missing, read_cases, read_intake


def test_codes_are_read_in_any_order_and_once():
    evidence = read_intake({"symptoms": " offline ;handle_hot; offline;"})

    assert evidence.symptoms == [{"handle_hot", "offline"}]


def test_codes_may_be_given_as_a_list():
    assert read_intake({"symptoms": ["offline"]}).symptoms == [{"offline"}]


def test_a_number_is_no_list_of_codes():
    with pytest.raises(ValueError, match="codes are text with ';' between"):
        read_intake({"symptoms": 3})


def test_none_reported_is_no_evidence():
    evidence = read_intake({"symptoms": "none_reported"})

    assert evidence.symptoms == [set()]


def test_a_symptom_reported_and_denied_counts_as_reported():
    evidence = read_intake(
        {"symptoms": "offline", "symptoms_denied": "offline;humming"}
    )

    assert evidence.symptoms == [{"offline"}]
    assert evidence.denied == [{"humming"}]


def test_clean_means_inspected_with_nothing_found():
    evidence = read_cases(
        pd.DataFrame({"intake_findings": ["clean", None, "pin_worn"]})
    )

    assert evidence.inspected.tolist() == [True, False, True]
    assert evidence.findings == [set(), set(), {"pin_worn"}]


def test_an_absent_column_is_unknown_throughout():
    evidence = read_cases(pd.DataFrame({"case_id": ["C1", "C2"]}))

    assert len(evidence) == 2
    assert evidence.categories == {"model": [set()] * 2, "env": [set()] * 2} | {
        "conn": [set()] * 2
    }
    assert np.isnan(evidence.age_days).all()
    assert not evidence.inspected.any()


@pytest.mark.parametrize("cell", [None, float("nan"), pd.NA, pd.NaT, "", "  "])
def test_a_cell_without_content_is_missing(cell):
    assert is_missing(cell)


@pytest.mark.parametrize("cell", [0, "no", False, 0.0, []])
def test_a_cell_with_content_is_not_missing(cell):
    assert not is_missing(cell)


@pytest.mark.parametrize(
    ("cell", "opened"), [("yes", True), ("no", False), ("unknown", False), (True, True)]
)
def test_only_yes_says_that_others_have_opened_the_unit(cell, opened):
    assert read_intake({"opened_before_arrival": cell}).opened.tolist() == [opened]


def test_an_age_may_be_text_or_number_and_nothing_else():
    assert read_intake({"age_days": "12"}).age_days.tolist() == [12.0]
    assert math.isnan(read_intake({"age_days": None}).age_days[0])
    with pytest.raises(ValueError, match="age_days is a number of days, got 'old'"):
        read_intake({"age_days": "old"})


def test_an_intake_may_be_a_row_or_a_table_of_one_row():
    table = pd.DataFrame({"symptoms": ["offline"], "model": ["A"]})

    assert read_intake(table).symptoms == read_intake(table.iloc[0]).symptoms
    with pytest.raises(ValueError, match="an intake is one case, got a table of 2"):
        read_intake(pd.concat([table, table]))


def test_some_cases_can_be_taken_in_another_order():
    table = pd.DataFrame({"symptoms": ["a", "b", "c"], "age_days": [1, 2, 3]})

    evidence = read_cases(table).take([2, 0])

    assert evidence.symptoms == [{"c"}, {"a"}]
    assert evidence.age_days.tolist() == [3, 1]


def test_a_code_never_seen_before_has_no_column():
    carried = incidence([{"b", "new"}, set(), {"a", "b"}], ("a", "b"))

    assert carried.toarray().tolist() == [[0, 1], [0, 0], [1, 1]]
