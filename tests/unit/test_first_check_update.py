"""What the outcome of a check says about the causes."""

import math

import numpy as np
import pandas as pd
import pytest

from analytics.advice.first_check import expected_information, update_probabilities

COLUMNS = ["check", "cause", "p_fail", "confirms", "minutes", "hazard", "gate"]


def table(*rows):
    return pd.DataFrame(rows, columns=COLUMNS)


SMALL = table(
    ("find_a", "a", 0.9, True, 5, "dead", False),
    ("live_b", "b", 0.9, True, 1, "live", False),
    ("live_b", "a", 0.1, False, 1, "live", False),
)


def test_a_fail_and_a_pass_weigh_causes_by_bayes():
    before = {"a": 0.5, "b": 0.5}
    failed = update_probabilities(before, SMALL, {"find_a": "fail"})
    assert failed["a"] == pytest.approx(0.9 / 0.92)
    passed = update_probabilities(before, SMALL, {"find_a": "pass"})
    assert passed["a"] == pytest.approx(0.1 / (0.1 + 0.98))


def test_a_fail_whose_isolation_found_nothing_speaks_against_its_own_causes():
    found = update_probabilities(
        {"a": 0.5, "b": 0.5}, SMALL, {"live_b": "fail_not_isolated"}
    )
    assert found["b"] == pytest.approx(0.03 / (0.03 + 0.1))


def test_a_chance_of_a_fail_mixes_both():
    found = update_probabilities({"a": 0.5, "b": 0.5}, SMALL, {"find_a": 0.5})
    assert found == pytest.approx({"a": 0.5, "b": 0.5})
    sure = update_probabilities({"a": 0.5, "b": 0.5}, SMALL, {"find_a": 1.0})
    assert sure["a"] == pytest.approx(0.9 / 0.92)


@pytest.mark.parametrize("outcome", ["not_done", "undefined", "incomplete", math.nan])
def test_what_says_nothing_changes_nothing(outcome):
    before = {"a": 0.3, "b": 0.7}
    after = update_probabilities(before, SMALL, {"find_a": outcome, "no_such": "fail"})
    assert after == pytest.approx(before)


def test_a_chance_that_is_none_is_refused():
    with pytest.raises(ValueError, match=r"find_a: 1\.5 is no probability of a fail"):
        update_probabilities({"a": 1.0}, SMALL, {"find_a": 1.5})


def test_outcomes_that_rule_every_cause_out_are_refused():
    sure = table(("find_a", "a", 1.0, True, 5, "dead", False))
    with pytest.raises(ValueError, match="no cause is possible"):
        update_probabilities({"a": 1.0}, sure, {"find_a": "pass"})


@pytest.mark.parametrize(
    ("prior", "likelihood", "sentence"),
    [
        ([0.5, 0.5], [[1.0, 1.0, 1.0]], "one column per cause"),
        ([0.5, 0.5], [[1.5, 1.0], [-0.5, 0.0]], "negative or not a number"),
        ([0.5, 0.6], [[1.0, 1.0]], "must sum to 1"),
        ([0.5, 0.5], [[0.5, 1.0]], "must sum to 1"),
    ],
)
def test_information_refuses_what_is_no_probability(prior, likelihood, sentence):
    with pytest.raises(ValueError, match=sentence):
        expected_information(np.array(prior), np.array(likelihood))
