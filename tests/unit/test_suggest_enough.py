import numpy as np
import pandas as pd
import pytest

from analytics.advice.evaluation import is_enough
from analytics.advice.expert_table import default_expert_table
from analytics.advice.suggest import FaultSuggester

EVEN = {"a": 0.25, "b": 0.25, "c": 0.25, "d": 0.25}


def test_a_favourite_that_the_evidence_made_is_enough():
    # Of four even causes 2 - H bits: H(0.85, 0.05, 0.05, 0.05) = 0.85 bits.
    assert is_enough({"a": 0.85, "b": 0.05, "c": 0.05, "d": 0.05}, EVEN)


def test_a_favourite_by_how_often_it_occurs_alone_is_not():
    often = {"a": 0.85, "b": 0.05, "c": 0.05, "d": 0.05}

    assert not is_enough(often, often)


def test_under_one_bit_is_not_enough():
    # H(0.6, 0.2, 0.1, 0.1) = 1.57 bits of 2, so 0.43 bits were won.
    assert not is_enough({"a": 0.6, "b": 0.2, "c": 0.1, "d": 0.1}, EVEN)


def test_no_favourite_is_not_enough_whatever_was_won():
    # From 64 causes down to 4 even ones: 4 bits, and the likeliest has 0.25.
    prior = dict.fromkeys(range(64), 1 / 64)
    left = {cause: 0.25 if cause < 4 else 0.0 for cause in prior}

    assert not is_enough(left, prior)


def test_causes_ruled_out_add_no_bits():
    # From 64 causes to one: 6 bits, the ruled out ones have probability 0.
    prior = dict.fromkeys(range(64), 1 / 64)

    assert is_enough({cause: float(cause == 5) for cause in prior}, prior)


def test_the_order_of_the_causes_does_not_matter():
    posterior = {"d": 0.85, "c": 0.05, "b": 0.05, "a": 0.05}

    assert is_enough(posterior, {"a": 0.1, "b": 0.1, "c": 0.1, "d": 0.7}) is False
    assert is_enough(posterior, {"a": 0.7, "b": 0.1, "c": 0.1, "d": 0.1}) is True


@pytest.mark.parametrize(
    "prior", [{}, {"a": 1.0}, {"a": 0.2, "b": 0.2, "c": 0.2, "e": 0.4}]
)
def test_the_causes_of_both_must_be_the_same(prior):
    with pytest.raises(ValueError, match="one prior per cause"):
        is_enough(EVEN, prior)


def test_no_cause_at_all_is_refused():
    with pytest.raises(ValueError, match="one prior per cause"):
        is_enough({}, {})


@pytest.mark.parametrize("findings", ["", "clean", "water_inside", "fuse_blown"])
def test_it_says_the_same_of_an_intake_as_the_suggester(findings):
    suggester = FaultSuggester.fit(
        pd.DataFrame({"symptoms": []}),
        [],
        expert_table=default_expert_table(),
        rng=np.random.default_rng(1),
    )

    found = suggester.suggest({"intake_findings": findings})

    assert sum(suggester.prior.values()) == pytest.approx(1)
    assert is_enough(found.probabilities, suggester.prior) == found.enough_evidence
