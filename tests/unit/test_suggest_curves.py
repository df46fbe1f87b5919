import numpy as np
import pytest

from analytics.advice.evaluation_curves import (
    by_cause,
    calibration_by_chance,
    calibration_curve,
    calibration_error,
    risk_coverage,
)
from analytics.statistics.intervals import binomial_interval


def test_a_bin_without_a_case_is_left_out():
    curve = calibration_curve([0.15, 0.95], [False, True])

    assert curve.low == pytest.approx([0.1, 0.9])
    assert curve.high == pytest.approx([0.2, 1.0])
    assert curve.n.tolist() == [1, 1]


def test_a_bin_counts_its_cases_and_those_right_with_wilsons_limits():
    curve = calibration_curve([0.62, 0.64, 0.66, 0.68], [True, False, True, True])

    assert (curve.n[0], curve.n_right[0]) == (4, 3)
    assert (curve.mean[0], curve.share[0]) == pytest.approx((0.65, 0.75))
    low, high = binomial_interval(3, 4)
    assert (curve.share_low[0], curve.share_high[0]) == (low, high)


def test_the_curve_and_the_calibration_error_tell_the_same():
    rng = np.random.default_rng(3)
    sure = rng.random(500)
    right = rng.random(500) < sure**2

    curve = calibration_curve(sure, right)

    gap = np.abs(curve.share - curve.mean) * curve.n / curve.n.sum()
    assert gap.sum() == pytest.approx(calibration_error(sure, right))


def test_the_surest_cases_are_answered_first():
    # Sorted by confidence: right, wrong, right, wrong.
    found = risk_coverage([0.9, 0.2, 0.8, 0.5], [True, False, False, True], n_points=4)

    assert found.coverage.tolist() == [0.25, 0.5, 0.75, 1.0]
    assert found.confidence.tolist() == [0.9, 0.8, 0.5, 0.2]
    assert found.n_wrong.tolist() == [0, 1, 1, 2]
    assert found.error == pytest.approx([0, 1 / 2, 1 / 3, 1 / 2])
    assert (found.error_low[3], found.error_high[3]) == binomial_interval(2, 4)


def test_cases_of_one_confidence_are_answered_together():
    found = risk_coverage([0.9, 0.5, 0.5, 0.5], [True, False, True, True], n_points=4)

    assert found.n.tolist() == [1, 4]
    assert found.n_wrong.tolist() == [0, 1]


def test_many_cases_give_twenty_points_the_last_with_all():
    rng = np.random.default_rng(4)

    found = risk_coverage(rng.random(1_000), rng.random(1_000) < 0.7)

    assert found.n.tolist() == list(range(50, 1_001, 50))


def test_fewer_cases_than_points_give_a_point_each():
    assert risk_coverage([0.9, 0.8], [True, True]).n.tolist() == [1, 2]


def test_each_cause_is_counted_by_its_true_cases():
    p = [[0.6, 0.3, 0.1], [0.5, 0.4, 0.1], [0.1, 0.7, 0.2], [0.2, 0.5, 0.3]]

    found = by_cause(p, [0, 1, 1, 1])

    assert found.cause.tolist() == [0, 1]
    assert found.n.tolist() == [1, 3]
    assert found.n_right.tolist() == [1, 2]
    assert found.n_named.tolist() == [2, 2]
    assert found.mean == pytest.approx([0.6, 1.6 / 3])


def test_among_the_first_three_means_at_most_two_not_below():
    p = [[0.1, 0.2, 0.3, 0.4]]

    assert by_cause(p, [0]).n_in_top_3.tolist() == [0]
    assert by_cause(p, [1]).n_in_top_3.tolist() == [1]


def test_chance_alone_shows_less_error_the_more_cases_there_are():
    rng = np.random.default_rng(5)

    few, many = (calibration_by_chance(rng.random(n), rng=rng) for n in (100, 10_000))

    # Bins scatter by 1 / sqrt(n): a hundred times the cases, a tenth of the error.
    assert few / many == pytest.approx(10, rel=0.25)


def test_chance_cannot_move_what_is_certain():
    rng = np.random.default_rng(5)

    assert calibration_by_chance(np.ones(50), rng=rng) == 0


def test_nineteen_calibrated_suggesters_of_twenty_stay_below_the_limit_of_chance():
    rng = np.random.default_rng(6)
    sure = rng.beta(2, 1.5, 300)
    limit = calibration_by_chance(sure, rng=rng)

    below = [
        calibration_error(sure, rng.random(300) < sure) <= limit for _ in range(400)
    ]

    # Standard error of the share 0.011, of the limit itself about as much.
    assert np.mean(below) == pytest.approx(0.95, abs=0.05)


@pytest.mark.parametrize("curve", [calibration_curve, risk_coverage])
def test_curves_refuse_what_does_not_fit(curve):
    with pytest.raises(ValueError, match="one flag per confidence"):
        curve([0.5], [True, False])
    with pytest.raises(ValueError, match="one flag per confidence"):
        curve([], [])
    with pytest.raises(ValueError, match="a confidence is 0 to 1"):
        curve([1.5], [True])
