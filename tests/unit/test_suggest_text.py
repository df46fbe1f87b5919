import numpy as np
import pandas as pd
import pytest
from scipy import special

from analytics.advice.suggest import FaultSuggester
from analytics.advice.text_block import (
    TEXT_ONLY,
    WITH_OTHER_EVIDENCE,
    TextBlock,
    fit_text,
)

ABOUT = {
    0: "the handle gets hot while charging",
    1: "no light at all after the storm",
    2: "stops when the cable is moved",
}


def texts(n, n_causes):
    cause = np.arange(n) % n_causes
    return [f"{ABOUT[c]} visit {i // 3}" for i, c in enumerate(cause)], cause


def block(n=120, n_causes=3, settings=WITH_OTHER_EVIDENCE):
    written, cause = texts(n, n_causes)
    return fit_text(written, cause, np.ones(n), settings)


def test_words_point_to_their_cause():
    scores = block().scores(["handle hot", "storm", "cable moved"], 3)

    assert scores.argmax(axis=1).tolist() == [0, 1, 2]


def test_a_misspelt_word_still_points_to_its_cause():
    assert block().scores(["hndle getts hott"], 3).argmax() == 0


def test_no_text_and_no_known_word_add_nothing():
    assert block().scores(["", "zzzz qqqq"], 3).tolist() == [[0, 0, 0], [0, 0, 0]]


def test_a_cause_without_texts_gets_nothing_for_or_against():
    scores = block(n_causes=2).scores(["handle hot"], 5)

    assert scores[0, 2:].tolist() == [0, 0, 0]
    assert scores[0, 0] > 0 > scores[0, 1]


def test_two_causes_are_told_apart_by_one_row_of_coefficients():
    two = block(n_causes=2)

    assert two.coefficients.shape[0] == 2
    assert not two.coefficients[0].any()
    x = two.features(["handle hot"])
    p = special.softmax(x @ two.coefficients.T + two.intercepts, axis=1)
    expected = np.log((0.99 * p + 0.01 * 0.5) / 0.5)
    assert two.scores(["handle hot"], 2) == pytest.approx(expected, abs=1e-12)


def test_a_score_is_the_answer_over_the_share_with_a_hundredth_mixed_in():
    scores = block().scores(["handle hot storm"], 3)[0]

    # The mixed answers are probabilities: they add up to one.
    assert (np.exp(scores) * block().share).sum() == pytest.approx(1)
    assert np.exp(scores).min() >= 0.01


def test_fewer_than_a_hundred_texts_are_no_block():
    assert isinstance(block(100), TextBlock)
    assert block(99) is None


def test_texts_of_one_cause_are_no_block():
    assert block(n_causes=1) is None


def test_texts_that_share_no_word_are_no_block():
    written = [chr(0x4E00 + i) for i in range(120)]

    assert fit_text(written, np.arange(120) % 2, np.ones(120), TEXT_ONLY) is None


def test_texts_of_single_letters_are_known_by_their_pieces_alone():
    written = ["q", "w"] * 60

    one_letter = fit_text(written, np.arange(120) % 2, np.ones(120), TEXT_ONLY)

    assert one_letter.words == ()
    assert one_letter.scores(["q"], 2).argmax() == 0


def test_untrusted_labels_are_left_out():
    written, cause = texts(120, 3)
    weight = np.where(cause == 2, 0.0, 1.0)

    assert fit_text(written, cause, weight, TEXT_ONLY) is None
    assert fit_text(written * 2, np.tile(cause, 2), np.tile(weight, 2), TEXT_ONLY)


def test_the_strongest_words_are_whole_words_with_their_parts_credited():
    fitted = block()
    away = fitted.coefficients_of(0) - fitted.coefficients_of(1)

    strongest = fitted.read("handle gets HOT hot zzzz").strongest(away)

    assert [word for word, _ in strongest[:3]] in (
        ["hot", "handle", "gets"], ["hot", "gets", "handle"],
        ["handle", "hot", "gets"], ["handle", "gets", "hot"],
        ["gets", "hot", "handle"], ["gets", "handle", "hot"],
    )  # fmt: skip
    assert all(credit > 0 for _, credit in strongest[:3])


def test_the_credits_of_the_words_add_up_to_the_linear_score():
    fitted = block()
    text = "handle gets hot storm hot"
    away = fitted.coefficients_of(0) - fitted.coefficients_of(1)

    total = sum(credit for _, credit in fitted.read(text).strongest(away))

    assert total == pytest.approx(float((fitted.features([text]) @ away)[0]))


def test_a_cause_without_texts_has_no_coefficients():
    assert not block().coefficients_of(7).any()


def test_a_text_is_one_reason_with_its_strongest_words():
    written, cause = texts(150, 3)
    cases = pd.DataFrame({"symptom_text": written, "model": "M1"})
    suggester = FaultSuggester.fit(
        cases, [int(c) for c in cause], rng=np.random.default_rng(1)
    )

    top = suggester.suggest({"symptom_text": "Handle hot"}).ranked[0]

    (words,) = [reason for reason in top.reasons if reason.block == "text"]
    assert top.cause == 0
    assert {word for word, _ in words.words} == {"handle", "hot"}
    assert words.counts == ""
    assert words.log_odds > 0


def test_a_text_without_a_known_word_is_no_reason():
    written, cause = texts(150, 3)
    suggester = FaultSuggester.fit(
        pd.DataFrame({"symptom_text": written}),
        [int(c) for c in cause],
        rng=np.random.default_rng(1),
    )

    reasons = suggester.suggest({"symptom_text": "zzzz"}).ranked[0].reasons

    assert [reason.block for reason in reasons] == ["prior"]


def test_texts_whose_pieces_are_all_rare_are_known_by_their_words_alone():
    # Each word in two texts: enough for a word, too few for its pieces.
    written = [chr(0x4E00 + i // 2) + chr(0x5E00 + i // 2) for i in range(120)]

    rare = fit_text(written, np.arange(120) // 2 % 2, np.ones(120), WITH_OTHER_EVIDENCE)

    assert rare.pieces == ()
    assert rare.scores(written[:1], 2).argmax() == 0


@pytest.mark.parametrize(("n", "is_used"), [(130, False), (240, True)])
def test_beside_symptoms_a_text_counts_only_with_a_weight_found(n, is_used):
    written, cause = texts(n, 3)
    cases = pd.DataFrame({"symptom_text": written, "symptoms": cause.astype(str)})

    suggester = FaultSuggester.fit(
        cases, [int(c) for c in cause], rng=np.random.default_rng(1)
    )

    blank, told = ({"symptom_text": t} for t in ("", written[0]))
    moved = (
        suggester.suggest(told).probabilities != suggester.suggest(blank).probabilities
    )
    assert moved == is_used
    assert (suggester.weights["text"] != 1) == is_used


def test_a_text_that_the_older_cases_were_too_few_for_is_not_used():
    # 200 cases, 110 texts, all but 10 of them among the older 170: enough for all
    # cases, not for the older ones, so no weight could be found.
    written, cause = texts(200, 3)
    written[:90] = [""] * 90
    cases = pd.DataFrame({"symptom_text": written, "symptoms": cause.astype(str)})

    suggester = FaultSuggester.fit(
        cases, [int(c) for c in cause], rng=np.random.default_rng(1)
    )

    assert suggester.weights["sym"] != 1
    blank, told = ({"symptom_text": t} for t in ("", written[-1]))
    assert (
        suggester.suggest(told).probabilities == suggester.suggest(blank).probabilities
    )
