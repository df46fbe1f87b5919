"""Incidence of two modes on the bone marrow transplant data.

Data    L. Scrucca, A. Santucci and F. Aversa, Bone Marrow Transplantation 40 (2007)
        381: 35 patients with leukaemia, months to relapse (1) or death in remission
        (2); as shipped in scikit-survival (load_bmt).
Values  No printed figure: cross-checked between R (cmprsk: incidence and variance;
        survival: incidence) and scikit-survival. Without relapse: R 4.2.2, survival
        3.5-3, survfit with relapses as censorings, log-log limits.
Read    2026-11-25; without relapse run 2026-11-27.
Digits  1e-7 relative.
"""

import numpy as np
import pytest

from analytics.statistics.competing_risks import cumulative_incidence, survival_without

# month, 0 = alive in remission, 1 = relapse, 2 = death
PATIENTS = [
    (0, 1), (0, 2), (1, 1), (1, 2), (2, 0), (2, 2), (3, 1), (3, 1), (3, 1), (3, 2),
    (4, 0), (4, 1), (4, 1), (4, 2), (5, 2), (7, 0), (7, 2), (7, 2), (8, 0), (8, 1),
    (8, 2), (9, 2), (10, 2), (12, 1), (13, 2), (14, 2), (22, 2), (26, 2), (32, 0),
    (35, 0), (35, 0), (67, 0), (68, 0), (70, 0), (72, 0),
]  # fmt: skip
MONTHS = [0, 2, 5, 10, 20, 40, 60]
INCIDENCE_1 = [
    0.0285714285714, 0.0571428571429, 0.204926108374, 0.237711636379, 0.272838987812,
    0.272838987812, 0.272838987812,
]  # fmt: skip
INCIDENCE_2 = [
    0.0285714285714, 0.0857142857143, 0.175791695989, 0.340760146423, 0.411014849289,
    0.481269552156, 0.481269552156,
]  # fmt: skip
VARIANCE_1 = [
    0.000816326530612, 0.00158467794831, 0.00492147397591, 0.00559737421329,
    0.006337835444, 0.006337835444, 0.006337835444,
]  # fmt: skip
VARIANCE_2 = [
    0.000816326530612, 0.00230506049337, 0.00438951534245, 0.00736534561138,
    0.00817979770801, 0.00860477637831, 0.00860477637831,
]  # fmt: skip
# to 40 months
WITHOUT_RELAPSE = [
    0.971428571429, 0.911604524508, 0.804726752669, 0.584272196896, 0.478040888369,
    0.371809579843,
]  # fmt: skip
ERROR_WITHOUT_RELAPSE = [
    0.028160307446, 0.0487736078814, 0.0726116894869, 0.0999746051661, 0.106336463352,
    0.105966748347,
]  # fmt: skip
LOW_WITHOUT_RELAPSE = [
    0.813996904858, 0.750227087501, 0.612420204001, 0.366762129715, 0.263844518371,
    0.175512379621,
]  # fmt: skip
HIGH_WITHOUT_RELAPSE = [
    0.995925318599, 0.97063485737, 0.908229987438, 0.74982874584, 0.664423219255,
    0.569755288673,
]  # fmt: skip


def test_incidence_and_variance_match_the_libraries():
    month, mode = np.array(PATIENTS).T

    result = cumulative_incidence(
        month, np.stack([mode == 1, mode == 2], axis=1), mode == 0
    )

    at = np.searchsorted(result.age, MONTHS, side="right") - 1
    assert result.incidence[at, 0] == pytest.approx(INCIDENCE_1, rel=1e-7)
    assert result.incidence[at, 1] == pytest.approx(INCIDENCE_2, rel=1e-7)
    assert result.standard_error[at, 0] ** 2 == pytest.approx(VARIANCE_1, rel=1e-7)
    assert result.standard_error[at, 1] ** 2 == pytest.approx(VARIANCE_2, rel=1e-7)


def test_without_relapse_deaths_alone_match_the_library():
    month, mode = np.array(PATIENTS).T
    by_mode = np.stack([mode == 1, mode == 2], axis=1)

    curve = survival_without(month, by_mode, mode == 0, column=0)

    at = np.searchsorted(curve.age, MONTHS[:-1], side="right") - 1
    assert curve.survival[at] == pytest.approx(WITHOUT_RELAPSE, rel=1e-7)
    assert curve.standard_error[at] == pytest.approx(ERROR_WITHOUT_RELAPSE, rel=1e-7)
    assert curve.low[at] == pytest.approx(LOW_WITHOUT_RELAPSE, rel=1e-7)
    assert curve.high[at] == pytest.approx(HIGH_WITHOUT_RELAPSE, rel=1e-7)
