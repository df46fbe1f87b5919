"""Weibull law on a lecture's example of 20 units.

Data    20 units, 7 still working, of a university lecture; listed in the SciPy test
        suite (test_continuous_fit_censored).
Values  Shape 2.149 and scale 28.99 as that test quotes them.
Read    2026-11-25.
Digits  The quoted figures come from a search with a loose stop: that test allows 1e-3
        relative, and so does this one.
"""

import numpy as np
import pytest

from analytics.statistics.distributions import fit_life

# time, 1 = failed
UNITS = [
    (3, 1), (5, 1), (6, 0), (8, 1), (10, 0), (11, 0), (15, 1), (20, 0), (22, 1), (23,
    1), (27, 0), (29, 1), (32, 1), (35, 1), (40, 1), (26, 1), (28, 1), (33, 0), (21,
    1), (24, 0),
]  # fmt: skip


def test_weibull_estimates_match_the_quoted_ones():
    time, failed = np.array(UNITS).T

    fit = fit_life(time, failed, 1 - failed, distribution="weibull")

    assert fit.parameters["shape"] == pytest.approx(2.149, rel=1e-3)
    assert fit.parameters["scale"] == pytest.approx(28.99, rel=1e-3)
