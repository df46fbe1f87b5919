"""Weibull law with limits on the natural scale.

Data    Journal of Quality Technology 1997, DOI 10.1080/00224065.1997.11979730: 12
        failures and 8 units still working.
Values  Shape 2.7540 (1.4977 to 4.0102) and scale 67.9188 (53.8755 to 81.9622), quoted
        with the data in a public file; limits are estimate -/+ 1.96 standard errors.
Read    2026-11-25.
Digits  The source's own convergence allows 2e-4 for the shape, 2e-3 and 5e-3 for the
        scale and its limits; tests of other sources hold the estimates more tightly.
"""

import numpy as np
import pytest

from analytics.statistics.distributions import fit_life

# time, 1 = failed
UNITS = [
    (45, 1), (46, 1), (34, 1), (45, 1), (32, 1), (24, 1), (58, 1), (79, 1), (56, 1),
    (63, 1), (34, 1), (50, 1), (23, 0), (24, 0), (57, 0), (78, 0), (76, 0), (85, 0),
    (51, 0), (59, 0),
]  # fmt: skip


def test_estimates_and_covariance_give_the_published_limits():
    time, failed = np.array(UNITS).T

    fit = fit_life(time, failed, 1 - failed, distribution="weibull")

    shape, scale = fit.parameters["shape"], fit.parameters["scale"]
    shape_reach, scale_reach = 1.959964 * np.sqrt(np.diag(fit.covariance))
    assert shape == pytest.approx(2.7540, abs=2e-4)
    assert scale == pytest.approx(67.9188, abs=2e-3)
    assert (shape - shape_reach, shape + shape_reach) == pytest.approx(
        (1.4977, 4.0102), abs=2e-4
    )
    assert (scale - scale_reach, scale + scale_reach) == pytest.approx(
        (53.8755, 81.9622), abs=5e-3
    )
