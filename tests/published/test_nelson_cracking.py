"""Failures known only between inspections: the part cracking data.

Data    W. Nelson, Applied Life Data Analysis, Wiley 1982, p. 415: 167 parts, 8
        inspections, months; counts as in the R function documentation of cracks.
Values  Weibull shape 1.4854 and scale 71.6904, printed for this data set in a software
        manual and reproduced by R (survreg, interval2), SciPy and lifelines. The
        lognormal law was only cross-checked between these. Survival without a law has a
        closed form here, the share not yet found cracked.
Read    2026-11-25.
Digits  Half a unit of the fourth decimal (2e-4 for the scale); the lognormal law to
        1e-6 relative, the closed form to 1e-8.
"""

import math

import numpy as np
import pytest

from analytics.statistics.distributions import fit_life
from analytics.statistics.life import interval_censored

INSPECTED = [
    6.12, 19.92, 29.64, 35.4, 39.72, 45.24, 52.32, 63.48,
]  # fmt: skip
N_FOUND = [5, 16, 12, 18, 18, 2, 6, 17]
N_WHOLE = 73
LOWER = [0, *INSPECTED[:-1]]


def fitted(distribution):
    return fit_life(
        [INSPECTED[-1]], [0], [N_WHOLE], distribution=distribution,
        lower=LOWER, upper=INSPECTED, n_interval=N_FOUND,
    )  # fmt: skip


def test_weibull_estimates_match_the_printed_ones():
    fit = fitted("weibull")

    assert (fit.n_failed, fit.n_units) == (94, 167)
    assert fit.parameters["shape"] == pytest.approx(1.4854, abs=5e-5)
    assert fit.parameters["scale"] == pytest.approx(71.6904, abs=2e-4)
    assert fit.log_likelihood == pytest.approx(-309.668408928, abs=1e-6)


def test_lognormal_law_matches_three_libraries():
    fit = fitted("lognormal")

    assert fit.parameters == pytest.approx(
        {"mu": 4.02685363327, "sigma": 0.998525122185}, rel=1e-6
    )
    assert fit.log_likelihood == pytest.approx(-311.914784437, abs=1e-6)


def test_survival_without_a_law_is_the_share_not_yet_cracked():
    estimate = interval_censored(
        [*LOWER, INSPECTED[-1]], [*INSPECTED, math.inf], n_units=[*N_FOUND, N_WHOLE]
    )

    shares = 1 - np.cumsum(N_FOUND) / 167
    assert list(estimate.upper) == [*INSPECTED, math.inf]
    assert 1 - np.cumsum(estimate.mass)[:-1] == pytest.approx(shares, abs=1e-8)
    assert estimate.survival_range(INSPECTED)[0] == pytest.approx(shares, abs=1e-8)
    assert estimate.n_units == 167


def test_log_likelihood_without_a_law_is_that_of_the_shares():
    estimate = interval_censored(
        [*LOWER, INSPECTED[-1]], [*INSPECTED, math.inf], n_units=[*N_FOUND, N_WHOLE]
    )

    log_likelihood = np.array([*N_FOUND, N_WHOLE]) @ np.log(estimate.mass)
    assert log_likelihood == pytest.approx(-294.919077245, rel=1e-9)
