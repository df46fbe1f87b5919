"""A made-up fleet with known rates: the suggester comes close to who knows them."""

import numpy as np
import pandas as pd
import pytest
from scipy import special

from analytics.advice.evaluation_curves import calibration_error
from analytics.advice.evaluation_scores import top_k_accuracy
from analytics.advice.suggest import FaultSuggester

N_CAUSES, N_SYMPTOMS, N_FINDINGS = 12, 15, 8
VOLUNTEERED, ASKED, INSPECTED = 0.78, 0.15, 0.7


class Truth:
    def __init__(self):
        rng = np.random.default_rng(11)
        self.share = rng.dirichlet(np.full(N_CAUSES, 2.0))
        self.symptom = rng.choice([0.03, 0.5], (N_CAUSES, N_SYMPTOMS), p=[0.85, 0.15])
        self.finding = rng.choice([0.03, 0.4], (N_CAUSES, N_FINDINGS), p=[0.85, 0.15])

    def draw(self, n, rng):
        cause = rng.choice(N_CAUSES, n, p=self.share)
        has = rng.random((n, N_SYMPTOMS)) < self.symptom[cause]
        told = has & (rng.random(has.shape) < VOLUNTEERED)
        denied = ~has & (rng.random(has.shape) < ASKED)
        looked = rng.random(n) < INSPECTED
        found = (rng.random((n, N_FINDINGS)) < self.finding[cause]) & looked[:, None]
        return cause, told, denied, looked, found

    def posterior(self, told, denied, looked, found):
        """Bayes with the true rates, silence about a symptom left out as unknown."""
        p_told = VOLUNTEERED * self.symptom
        p_no = ASKED * (1 - self.symptom) / (1 - p_told)
        log_p = np.log(self.share) + told @ np.log(p_told).T + denied @ np.log(p_no).T
        log_p += found @ np.log(self.finding).T
        log_p += (looked[:, None] & ~found) @ np.log1p(-self.finding).T
        return special.softmax(log_p, axis=1)


def table(told, denied, looked, found):
    def cells(flags, letter):
        return [
            ";".join(f"{letter}{i:02}" for i in np.flatnonzero(row)) for row in flags
        ]

    seen = [
        (cell or "clean") if was_seen else ""
        for cell, was_seen in zip(cells(found, "f"), looked, strict=True)
    ]
    return pd.DataFrame(
        {
            "symptoms": cells(told, "s"),
            "symptoms_denied": cells(denied, "s"),
            "intake_findings": seen,
        }
    )


@pytest.fixture(scope="module")
def answers():
    truth, rng = Truth(), np.random.default_rng(5)
    cause, *evidence = truth.draw(4_000, rng)
    suggester = FaultSuggester.fit(
        table(*evidence), [f"c{i:02}" for i in cause], rng=np.random.default_rng(1)
    )
    new_cause, *new = truth.draw(4_000, rng)
    p = suggester.probabilities(table(*new)).to_numpy()
    return new_cause, p, truth.posterior(*new), suggester


def test_with_many_cases_it_is_right_nearly_as_often_as_who_knows_the_rates(answers):
    cause, p, best, _ = answers

    # Both are scored on the same 4 000 cases; they differ on few, so the standard
    # error of the difference is below 0.004.
    assert top_k_accuracy(p, cause, k=1) >= top_k_accuracy(best, cause, k=1) - 0.015
    assert top_k_accuracy(best, cause, k=1) > largest_share(cause) + 0.2


def largest_share(cause):
    return np.bincount(cause).max() / len(cause)


def test_its_probabilities_mean_what_they_say(answers):
    cause, p, _, _ = answers

    # Perfect probabilities measure 0.009 to 0.026 on 4 000 cases (10 bins).
    error = calibration_error(p.max(axis=1), p.argmax(axis=1) == cause)
    assert error <= 0.03


def test_answers_with_enough_evidence_are_right_more_often(answers):
    cause, p, _, _ = answers
    sure = p.max(axis=1) >= 0.30

    right = p.argmax(axis=1) == cause

    assert right[sure].mean() > right.mean() > right[~sure].mean()


def test_evidence_that_is_independent_keeps_a_weight_near_one(answers):
    weights = answers[3].weights

    assert weights["sym"] == pytest.approx(1, abs=0.15)
    assert weights["find"] == pytest.approx(1, abs=0.15)
