"""Accuracy, log loss and calibration against documented examples.

Data    The examples in the documentation of two libraries: scikit-learn
        top_k_accuracy_score (4 cases, 3 classes), log_loss (4 cases, 2 classes) and
        calibration_curve (9 cases); torchmetrics binary_calibration_error (5 cases) and
        multiclass_calibration_error (4 cases, 3 classes, confidence of the answer).
Values  Printed there: top-2 accuracy 0.75; log loss 0.21616; calibration error
        (l1) 0.2900 with 2 bins and 0.2000 with 3 bins. Top-1 accuracy of the first
        example, 0.5, is counted by hand. Calibration curve of 3 bins: share right
        0, 0.5, 1 at a mean confidence of 0.2, 0.525, 0.85.
Read    2026-11-25, in the docstrings of scikit-learn 1.9.1 as installed and in the
        source text of torchmetrics.
Digits  Each figure is compared to half a unit in the last digit printed; 0.75 and
        0.5 are exact.
"""

import numpy as np
import pytest
from sklearn.calibration import calibration_curve as reference_curve

from analytics.advice.evaluation_curves import calibration_curve, calibration_error
from analytics.advice.evaluation_scores import log_loss, top_k_accuracy

SCORES = [[0.5, 0.2, 0.2], [0.3, 0.4, 0.2], [0.2, 0.4, 0.3], [0.7, 0.2, 0.1]]
TRUE = [0, 1, 2, 2]


def test_top_k_accuracy_matches_the_documented_example():
    assert top_k_accuracy(SCORES, TRUE, k=2) == 0.75
    assert top_k_accuracy(SCORES, TRUE, k=1) == 0.5


def test_log_loss_matches_the_documented_example():
    probabilities = [[0.1, 0.9], [0.9, 0.1], [0.8, 0.2], [0.35, 0.65]]
    spam, ham = 1, 0

    loss = log_loss(probabilities, [spam, ham, ham, spam])

    assert loss == pytest.approx(0.21616, abs=5e-6)


def test_calibration_error_of_two_bins_matches_the_documented_example():
    error = calibration_error([0.25, 0.25, 0.55, 0.75, 0.75], [0, 0, 1, 1, 1], n_bins=2)

    assert error == pytest.approx(0.29, abs=5e-5)


def test_calibration_error_of_answers_matches_the_documented_example():
    p = np.array(
        [[0.25, 0.20, 0.55], [0.55, 0.05, 0.40], [0.10, 0.30, 0.60], [0.90, 0.05, 0.05]]
    )

    error = calibration_error(p.max(axis=1), p.argmax(axis=1) == [0, 1, 2, 0], n_bins=3)

    assert error == pytest.approx(0.2, abs=5e-5)


def test_a_calibration_curve_matches_the_documented_example():
    confidence = [0.1, 0.2, 0.3, 0.4, 0.65, 0.7, 0.8, 0.9, 1.0]
    correct = [0, 0, 0, 0, 1, 1, 1, 1, 1]

    curve = calibration_curve(confidence, correct, n_bins=3)

    assert curve.share == pytest.approx([0, 0.5, 1], abs=5e-3)
    assert curve.mean == pytest.approx([0.2, 0.525, 0.85], abs=5e-4)


def test_a_calibration_curve_is_that_of_the_reference_library():
    rng = np.random.default_rng(8)
    confidence = rng.random(300)
    correct = rng.random(300) < confidence

    curve = calibration_curve(confidence, correct, n_bins=7)

    share, mean = reference_curve(correct, confidence, n_bins=7)
    assert curve.share == pytest.approx(share, rel=1e-12)
    assert curve.mean == pytest.approx(mean, rel=1e-12)
