"""False discovery rate on the example of its inventors.

Data    Y. Benjamini and Y. Hochberg, Controlling the false discovery rate, Journal of
        the Royal Statistical Society B 57 (1995) 289: 15 p-values of a thrombolysis
        trial.
Values  Four rejected at 0.05, as printed. The adjusted p-values were only cross-checked
        between R, SciPy and statsmodels.
Read    2026-11-25.
Digits  1e-6 relative.
"""

import pytest

from analytics.statistics.intervals import benjamini_hochberg

P_VALUES = [
    0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.324,
    0.4262, 0.5719, 0.6528, 0.759, 1,
]  # fmt: skip
ADJUSTED = [
    0.0015, 0.003, 0.0095, 0.035625, 0.0603, 0.0638571428571, 0.0638571428571, 0.0645,
    0.0765, 0.486, 0.581181818182, 0.714875, 0.753230769231, 0.813214285714, 1,
]  # fmt: skip


def test_four_are_rejected_as_printed():
    rejected, _ = benjamini_hochberg(P_VALUES, rate=0.05)

    assert list(rejected) == [True] * 4 + [False] * 11


def test_adjusted_values_match_three_libraries_in_any_order():
    _, adjusted = benjamini_hochberg(P_VALUES)
    _, backwards = benjamini_hochberg(P_VALUES[::-1])

    assert adjusted == pytest.approx(ADJUSTED, rel=1e-6)
    assert backwards == pytest.approx(ADJUSTED[::-1], rel=1e-6)
