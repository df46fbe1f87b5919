"""Survival without a law on interval-censored data: breast cosmesis.

Data    G. F. Beadle and others, Cancer 54 (1984) 2911, as used by D. M. Finkelstein and
        R. A. Wolfe, Biometrics 41 (1985) 933: months to retraction, 46 patients on
        radiotherapy; as shipped in the R package npsurv (cancer).
Values  Klein and Moeschberger, Survival Analysis, section 5.2: .954 .920 .832 .761 .668
        .586 .467; full values cross-checked between R (npsurv) and an EM in Python.
Read    2026-11-25.
Digits  The printed values stop short of convergence (up to 0.0016 off); the full ones
        are compared to 1e-9, the digits kept of them.
"""

import math

import numpy as np
import pytest

from analytics.statistics.life import interval_censored

# not yet at, seen at (inf: never)
PATIENTS = [
    (0, 5), (0, 7), (0, 8), (4, 11), (5, 11), (5, 12), (6, 10), (7, 14), (7, 16), (11,
    15), (11, 18), (15, math.inf), (17, 25), (17, 25), (17, math.inf), (18, 26), (18,
    math.inf), (19, 35), (22, math.inf), (24, math.inf), (24, math.inf), (25, 37),
    (26, 40), (27, 34), (32, math.inf), (33, math.inf), (34, math.inf), (36, 44), (36,
    48), (36, math.inf), (36, math.inf), (37, 44), (37, math.inf), (37, math.inf),
    (37, math.inf), (38, math.inf), (40, math.inf), (45, math.inf), (46, math.inf),
    (46, math.inf), (46, math.inf), (46, math.inf), (46, math.inf), (46, math.inf),
    (46, math.inf), (46, math.inf),
]  # fmt: skip
MONTHS = [5, 7, 8, 12, 25, 34, 40]
PRINTED = [0.954, 0.920, 0.832, 0.761, 0.668, 0.586, 0.467]
SURVIVAL = [
    0.953653226007, 0.920289855072, 0.831622487009, 0.760869565216, 0.668223728631,
    0.586437963728, 0.465558136381,
]  # fmt: skip


def test_survival_matches_the_printed_and_the_converged_values():
    lower, upper = np.array(PATIENTS).T

    estimate = interval_censored(lower, upper)

    low, high = estimate.survival_range(MONTHS)
    assert low == pytest.approx(PRINTED, abs=1.6e-3)
    assert low == pytest.approx(SURVIVAL, rel=1e-9)
    # At these months the data leave nothing open.
    assert high == pytest.approx(low, abs=1e-12)
    assert estimate.mass.sum() == pytest.approx(1, abs=1e-12)


def test_log_likelihood_at_the_maximum_matches_the_converged_one():
    lower, upper = np.array(PATIENTS).T

    estimate = interval_censored(lower, upper)

    # No bracket ends within an interval that carries mass: survival is determined.
    ends = np.where(np.isfinite(upper), estimate.survival_range(upper)[0], 0)
    chance = estimate.survival_range(lower)[0] - ends
    assert np.log(chance).sum() == pytest.approx(-58.060021954, rel=1e-9)
