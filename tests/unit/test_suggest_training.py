import datetime as dt

import numpy as np
import pandas as pd
import pytest

from analytics.advice.evaluation import NotScored
from analytics.advice.evaluation_curves import calibration_error
from analytics.advice.evaluation_scores import log_loss, top_k_accuracy
from analytics.advice.labelled_cases import read_labelled
from analytics.advice.suggest import FaultSuggester

DAY_0 = dt.date(2024, 1, 1)


def days(numbers):
    return [DAY_0 + dt.timedelta(days=int(n)) for n in numbers]


def labelled(cases, cause, *, seed=1):
    return read_labelled(
        cases,
        cause,
        as_of=None,
        more_causes=set(),
        weight=None,
        rng=np.random.default_rng(seed),
    )


def fleet(n, *, seed=1, drift=False):
    """n cases of four causes; with drift the later half are mostly of the last."""
    rng = np.random.default_rng(seed)
    share = np.tile([0.4, 0.3, 0.2, 0.1], (n, 1))
    if drift:
        share[n // 2 :] = [0.1, 0.1, 0.1, 0.7]
    cause = np.array([rng.choice(4, p=p) for p in share])
    own = np.where(rng.random(n) < 0.7, cause, rng.integers(0, 4, n))
    cases = pd.DataFrame(
        {
            "symptoms": [f"s{i}" for i in own],
            # The same once more: not independent, so its weight must fall.
            "charger_error_codes": [f"E{i}" for i in own],
            "received_on": days(np.arange(n) // 2),
            "confirmed_on": days(np.arange(n) // 2 + 3),
            "serial": [f"S{i}" for i in range(n)],
        }
    )
    return cases, [f"c{i}" for i in cause]


def fit(cases, cause, **options):
    return FaultSuggester.fit(cases, cause, rng=np.random.default_rng(1), **options)


def test_the_newest_cases_are_split_off_by_the_day_received():
    cases = pd.DataFrame({"received_on": days([3, 0, 2, 1]), "serial": list("abcd")})

    older, newest = labelled(cases, ["x"] * 4).labelled.split(0.25)

    assert older.serial == ["b", "d", "c"]
    assert newest.serial == ["a"]


def test_without_dates_the_order_of_rows_is_the_order_of_time():
    cases = pd.DataFrame({"serial": list("abcd")})

    older, newest = labelled(cases, ["x"] * 4).labelled.split(0.5)

    assert (older.serial, newest.serial) == (["a", "b"], ["c", "d"])


def test_a_case_without_a_date_of_receipt_counts_as_the_oldest():
    cases = pd.DataFrame({"received_on": [*days([0]), None], "serial": list("ab")})

    assert labelled(cases, ["x", "x"]).labelled.serial == ["b", "a"]


def test_all_returns_of_one_unit_stand_on_one_side():
    cases = pd.DataFrame({"received_on": days(range(4)), "serial": list("abca")})

    older, newest = labelled(cases, ["x"] * 4).labelled.split(0.25)

    assert older.serial == ["b", "c"]
    assert newest.serial == ["a"]


def test_cases_without_a_serial_are_not_one_unit():
    cases = pd.DataFrame({"received_on": days(range(4))})

    older, _ = labelled(cases, ["x"] * 4).labelled.split(0.5)

    assert len(older) == 2


def test_labels_confirmed_after_the_cut_are_not_known_to_the_older_side():
    cases = pd.DataFrame(
        {"received_on": days([0, 1, 2, 3]), "confirmed_on": days([1, 9, 3, 4])}
    ).assign(serial=list("abcd"))

    older, _ = labelled(cases, ["x"] * 4).labelled.split(0.25)

    assert older.serial == ["a", "c"]


def test_cases_of_one_day_stand_in_random_order():
    cases = pd.DataFrame({"received_on": days([0] * 40), "serial": range(40)})

    one = labelled(cases, ["x"] * 40, seed=1).labelled.serial
    other = labelled(cases, ["x"] * 40, seed=2).labelled.serial

    assert one != other
    assert sorted(one) == sorted(other)


def test_two_hundred_cases_are_weighed_and_scored_and_fewer_are_not():
    assert fit(*fleet(199)).evaluation is None
    assert fit(*fleet(199)).not_scored == NotScored("confirmed cases", 200, 199)
    assert set(fit(*fleet(199)).weights.values()) == {1.0}

    suggester = fit(*fleet(200))

    assert suggester.evaluation is not None
    assert suggester.not_scored is None
    assert suggester.weights["sym"] != 1.0


def test_too_few_cases_left_on_the_older_side_are_not_weighed():
    cases, cause = fleet(200)
    late = cases.assign(confirmed_on=days([400] * 200))

    suggester = fit(late, cause)

    assert suggester.evaluation is None
    assert suggester.not_scored.needed == 100
    assert suggester.not_scored.found == 0
    assert set(suggester.weights.values()) == {1.0}


def test_evidence_said_twice_weighs_less_and_unseen_blocks_stay_at_one():
    weights = fit(*fleet(2_000)).weights

    assert weights["sym"] + weights["err"] < 1.3
    assert weights["find"] == weights["text"] == 1.0


def test_a_changed_fleet_gets_a_half_life_and_a_steady_one_keeps_its_old_cases():
    drifting = fit(*fleet(1_000, drift=True))
    p = drifting.suggest({}).probabilities

    assert drifting.half_life is not None
    assert drifting.half_life <= 125
    assert p["c3"] > 0.5


def test_the_evaluation_has_three_slices_by_time():
    evaluation = fit(*fleet(1_000)).evaluation

    assert evaluation.n_scored == 150
    # A few at each cut were confirmed too late to be known.
    assert 140 <= evaluation.n_weighed <= 150
    assert 680 <= evaluation.n_fitted <= 700
    assert sum(month.n_scored for month in evaluation.months) == 150


def test_the_evaluation_stands_beside_class_shares():
    evaluation = fit(*fleet(1_000)).evaluation

    # Right are 0.7 + 0.3 / 4 of the symptoms: 0.775, standard error 0.034.
    assert evaluation.suggester.top_1 == pytest.approx(0.775, abs=0.1)
    assert evaluation.class_shares.top_1 == pytest.approx(0.4, abs=0.12)
    assert evaluation.suggester.log_loss < evaluation.class_shares.log_loss
    assert evaluation.suggester.top_3 >= evaluation.suggester.top_1


def test_the_evaluation_tells_how_many_were_answered_and_how_many_of_these_right():
    evaluation = fit(*fleet(1_000)).evaluation

    # s0 moves the commonest cause by under 1 bit, the others by more: answered are
    # 1 - (0.7 * 0.4 + 0.3 / 4) = 0.645, of them right (0.775 - 0.4 * 0.775) / 0.645.
    assert evaluation.answered == pytest.approx(0.645, abs=0.12)
    assert evaluation.answered_top_1 == pytest.approx(0.72, abs=0.12)


def test_the_evaluation_reports_a_temperature_near_one_for_a_calibrated_model():
    # Standard error about 0.1 with 300 scored cases (a guess: 1 / sqrt(n) times 2).
    assert fit(*fleet(2_000)).evaluation.temperature == pytest.approx(1, abs=0.25)


def test_the_evaluation_counts_scored_texts_that_were_known_before():
    cases, cause = fleet(400)
    texts = [f"visit {i}" for i in range(400)]
    texts[-1] = texts[0]

    evaluation = fit(cases.assign(symptom_text=texts), cause).evaluation

    assert evaluation.n_repeated_texts == 1


def test_the_evaluation_counts_the_unlabelled_cases_of_each_month():
    cases, cause = fleet(400)
    cause[-100:] = [None if i % 2 else c for i, c in enumerate(cause[-100:])]

    months = fit(cases, cause).evaluation.months

    assert [month.month for month in months] == [f"2024-0{i}" for i in range(1, 8)]
    assert sum(month.n_cases for month in months) == 400
    assert sum(month.n_unlabelled for month in months) == 50
    assert months[0].n_unlabelled == 0
    assert np.isnan(months[0].top_1)


def test_every_share_of_the_evaluation_has_its_count():
    found = fit(*fleet(1_000)).evaluation

    assert found.suggester.n_top_1 == sum(found.calibration.n_right)
    assert found.suggester.n_top_1 == sum(found.causes.n_right)
    assert found.suggester.n_top_1 == found.n_answered_right + found.n_silent_right
    assert found.suggester.n_top_1 == sum(month.n_right for month in found.months)
    assert found.suggester.n_top_1 == found.n_scored - found.coverage.n_wrong[-1]
    assert found.suggester.n_top_3 == sum(found.causes.n_in_top_3)
    assert found.n_scored == sum(found.calibration.n) == sum(found.causes.n)
    assert found.n_scored == sum(found.causes.n_named) == found.coverage.n[-1]
    assert found.answered == found.n_answered / found.n_scored
    assert found.suggester.top_3 == found.suggester.n_top_3 / found.n_scored


def test_the_log_loss_comes_with_its_standard_error():
    # One symptom of one cause: each case costs the same, so nothing scatters.
    cases = pd.DataFrame({"symptoms": ["hot"] * 400})

    found = fit(cases, ["a"] * 400).evaluation

    assert found.suggester.log_loss_error == pytest.approx(0, abs=1e-12)
    assert fit(*fleet(1_000)).evaluation.suggester.log_loss_error > 0.02


def test_the_calibration_error_of_a_calibrated_model_is_what_chance_may_do():
    found = fit(*fleet(2_000)).evaluation.suggester

    assert found.calibration_error <= 1.5 * found.calibration_by_chance


def test_without_dates_an_evaluation_has_no_months():
    cases, cause = fleet(400)

    evaluation = fit(cases[["symptoms"]], cause).evaluation

    assert evaluation.n_scored == 60
    assert evaluation.months == ()


def test_nothing_answered_is_told_from_nothing_right():
    cases = pd.DataFrame({"symptoms": [""] * 400})

    evaluation = fit(cases, ["a", "b"] * 200).evaluation

    assert evaluation.answered == 0
    assert np.isnan(evaluation.answered_top_1)


def test_a_tie_with_the_true_cause_is_no_hit():
    assert top_k_accuracy([[0.5, 0.5]], [0], k=1) == 0
    assert top_k_accuracy([[0.5, 0.5]], [0], k=2) == 1


def test_a_true_cause_of_probability_zero_costs_infinitely_much():
    assert log_loss([[1.0, 0.0]], [1]) == np.inf


def test_a_value_on_the_limit_belongs_to_the_bin_below():
    # With 0.5 in the lower bin the gaps are 0.5 - 0.5 and 1 - 0.9.
    error = calibration_error([0.5, 0.5, 0.9], [1, 0, 1], n_bins=2)

    assert error == pytest.approx(0.1 / 3)


def test_metrics_want_matching_shapes():
    with pytest.raises(ValueError, match="one true column per row"):
        log_loss([[0.5, 0.5]], [0, 1])
    with pytest.raises(ValueError, match="one flag per confidence"):
        calibration_error([0.5], [1, 0])
