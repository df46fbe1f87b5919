"""A short form of `python -m tests.truth suggest`, and the rule it is held against.

The first draws of the long study with seed 1, with the bars of the long study widened
to four standard errors of one draw of 4 000 cases (`WIDER`).
"""

import math
from collections import Counter

import numpy as np
import pytest
from scipy import stats

from analytics.advice.evaluation_curves import calibration_error
from synthetic_data.scenario import mode_laws
from synthetic_data.symptoms import Intake
from tests.truth import suggest_bayes, suggest_study
from tests.truth.study import Line, run, table
from tests.truth.suggest_bayes import log_likelihood
from tests.truth.suggest_fleet import draw_returns

WIDER = 4 * math.sqrt(0.25 / suggest_study.N_TEST)
MODES = {law.mode: number for number, law in enumerate(mode_laws())}


@pytest.fixture(scope="module")
def lines() -> dict[str, Line]:
    found = run(
        suggest_study.STUDY,
        fleets=1,
        seed=1,
        cores=1,
        only=["200 cases", "2 000 cases"],
    )
    return {f"{line.scene}, {line.method}": line for line in found}


def test_suggestions_are_as_near_to_bayes_rule_as_the_bars_say(lines):
    for line in lines.values():
        if line.promise is not None:
            low, high = line.promise.low - WIDER, line.promise.high + WIDER
            assert low <= line.mean <= high, table([line])


def test_ten_times_the_cases_make_better_suggestions(lines):
    few, many = (
        {what: lines[f"{n}, {what}"].mean for what in ("top-1", "top-3", "log loss")}
        for n in ("200 cases", "2 000 cases")
    )

    # Some eight points apart in the study, of a standard error of one.
    assert many["top-1"] > few["top-1"]
    assert many["top-3"] > few["top-3"]
    assert many["log loss"] < few["log loss"]


def test_a_suggester_that_knows_no_evidence_is_found_out(monkeypatch):
    right = suggest_study.trained

    def blind(returns):
        return right(returns.without_evidence())

    monkeypatch.setattr(suggest_study, "trained", blind)
    scene = [suggest_study.name_of(2_000)]
    found = run(suggest_study.STUDY, fleets=1, seed=1, cores=1, only=scene)

    below = next(line for line in found if line.method == suggest_study.BELOW)
    assert below.promise is not None
    assert below.mean > below.promise.high + WIDER


def test_the_table_has_a_row_a_figure_and_a_column_a_size(lines):
    shown = suggest_study.grids(list(lines.values())).split("\n")

    assert len(shown) == 2 + len(suggest_study.ROWS)
    assert shown[0].count("|") == 4
    figure = lines["2 000 cases, top-1"].mean
    assert any(row.startswith("| top-1 |") and f"{figure:.3f}" in row for row in shown)


# Bayes' rule itself.


def test_the_chances_of_all_that_can_be_told_add_up_to_one():
    ways = suggest_bayes.ways_told()

    total = Counter()
    for ended in ways.values():
        for (mode, _), chance in ended.items():
            total[mode] += chance
    assert len(total) == len(MODES)
    assert all(chance == pytest.approx(1) for chance in total.values())


def test_answers_of_no_add_up_to_one_whatever_was_there():
    codes = sorted(suggest_bayes.symptom_codes())[:4]
    for present in (frozenset(), frozenset(codes[:1]), frozenset(codes)):
        others = sorted(suggest_bayes.symptom_codes() - present)
        total = suggest_bayes.p_denied(frozenset(), present)
        for size in (1, 2, 3):
            some = frozenset(others[:size])
            n_alike = math.comb(len(others), size)
            total += n_alike * suggest_bayes.p_denied(some, present)
        assert total == pytest.approx(1)


def test_error_words_and_findings_add_up_to_one():
    words = [None, *suggest_bayes.error_words()]
    seen = [frozenset(some) for some in suggest_bayes.subsets(frozenset("abc"))]
    assert len(seen) == 8
    assert sum(suggest_bayes.p_error_word(word) for word in words) == pytest.approx(1)
    for mode, law in enumerate(mode_laws()):
        # All that the fault shows, with and without one stray finding.
        own = frozenset(law.findings) - {"clean"}
        stray = suggest_bayes.finding_codes() - own - {"clean"}
        sets = {
            a | b
            for a in suggest_bayes.subsets(own)
            for b in [frozenset(), *(frozenset([code]) for code in stray)]
        }
        total = sum(suggest_bayes.p_findings(some)[mode] for some in sets)
        assert total == pytest.approx(suggest_bayes.INSPECTED)


@pytest.mark.parametrize("mode", ["handle_pilot_open", "no_fault_found", "meter_fault"])
def test_the_generator_draws_evidence_as_often_as_the_rule_says(mode):
    n = 20_000
    intake = Intake(np.random.default_rng(3))
    law = mode_laws()[MODES[mode]]
    drawn = [intake.evidence(law) for _ in range(n)]

    def codes(cell, alone):
        return frozenset((cell or "").split(";")) - {"", alone}

    told = Counter(
        (codes(row["symptoms"], "none_reported"), codes(row["symptoms_denied"], ""))
        for row in drawn
    )
    seen = Counter(
        codes(row["intake_findings"], "clean") if row["intake_findings"] else None
        for row in drawn
    )
    for (said, denied), count in told.most_common(8):
        chance = suggest_bayes.p_symptoms(said, denied)[MODES[mode]]
        assert _is_likely(count, n, chance), (said, denied)
    for found, count in seen.most_common(5):
        assert _is_likely(count, n, suggest_bayes.p_findings(found)[MODES[mode]]), found


def _is_likely(count: int, n: int, chance: float) -> bool:
    low, high = stats.binom.ppf([1e-5, 1 - 1e-5], n, chance)
    return bool(low <= count <= high)


def test_bayes_rule_is_calibrated_for_every_mode():
    returns = draw_returns(8_000, np.random.default_rng(7))
    rows = np.arange(returns.first, len(returns))
    p, mode = returns.bayes(rows), returns.mode[rows]

    expected = p.sum(axis=0)
    spread = np.sqrt((p * (1 - p)).sum(axis=0))
    counted = np.bincount(mode, minlength=len(MODES))
    z = (counted - expected) / spread
    # 46 figures, nearly normal: 4 comes once in 300 such tests. The sum of their
    # squares is near chi-square; the modes are negatively correlated, which makes it
    # smaller.
    assert np.abs(z).max() < 4
    assert (z**2).sum() < stats.chi2.ppf(0.999, len(MODES))
    # Perfect probabilities measured 0.009 to 0.026 on 4 000 cases.
    assert calibration_error(p.max(axis=1), p.argmax(axis=1) == mode) <= 0.02


def test_what_cannot_be_of_a_mode_has_no_chance():
    odd = log_likelihood(
        [frozenset({"latch_does_not_lock"})], [frozenset({"latch_does_not_lock"})],
        [None], [None],
    )  # fmt: skip
    assert np.isneginf(odd).all()
