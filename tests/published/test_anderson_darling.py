"""Anderson-Darling of the heat flow meter and of the ball bearings.

Data    NIST/SEMATECH e-Handbook of Statistical Methods 1.3.5.14 and 1.4.2.8: 195 heat
        flow meter calibrations, as listed in usnistgov/dataplot (ZARR13.DAT). J.
        Lieblein and M. Zelen, Journal of Research of the National Bureau of Standards
        57 (1956) 273: 23 ball bearings.
Values  No printed figure of the statistic: cross-checked between SciPy, statsmodels and
        the R package goftest. Percentage points of the modified statistic: M. A.
        Stephens, in D'Agostino and Stephens, Goodness-of-Fit Techniques, 1986, tables
        4.7, 4.11 and 4.17, from memory.
Read    2026-11-25.
Digits  The statistic to 1e-7 relative, to 1e-4 where it rests on a search for the
        Weibull law; the level of a percentage point to a twentieth of it.
"""

import numpy as np
import pytest

from analytics.statistics.goodness import anderson_darling, p_value

# fmt: off
HEAT_FLOW = [
    9.206343, 9.299992, 9.277895, 9.305795, 9.275351, 9.288729, 9.287239, 9.260973,
    9.303111, 9.275674, 9.272561, 9.288454, 9.255672, 9.252141, 9.29767, 9.266534,
    9.256689, 9.277542, 9.248205, 9.252107, 9.276345, 9.278694, 9.267144, 9.246132,
    9.238479, 9.269058, 9.248239, 9.257439, 9.268481, 9.288454, 9.258452, 9.28613,
    9.251479, 9.257405, 9.268343, 9.291302, 9.21946, 9.270386, 9.218808, 9.241185,
    9.269989, 9.226585, 9.258556, 9.286184, 9.320067, 9.327973, 9.262963, 9.248181,
    9.238644, 9.225073, 9.220878, 9.271318, 9.252072, 9.281186, 9.270624, 9.294771,
    9.301821, 9.278849, 9.23668, 9.233988, 9.244687, 9.221601, 9.207325, 9.258776,
    9.275708, 9.268955, 9.257269, 9.264979, 9.2955, 9.292883, 9.264188, 9.280731,
    9.267336, 9.300566, 9.253089, 9.261376, 9.238409, 9.225073, 9.235526, 9.23951,
    9.264487, 9.244242, 9.277542, 9.310506, 9.261594, 9.259791, 9.253089, 9.245735,
    9.284058, 9.251122, 9.275385, 9.254619, 9.279526, 9.275065, 9.261952, 9.275351,
    9.252433, 9.230263, 9.25515, 9.26878, 9.290389, 9.274161, 9.255707, 9.261663,
    9.250455, 9.261952, 9.264041, 9.264509, 9.242114, 9.239674, 9.221553, 9.241935,
    9.215265, 9.28593, 9.271559, 9.266046, 9.285299, 9.268989, 9.267987, 9.246166,
    9.231304, 9.240768, 9.260506, 9.274355, 9.292376, 9.27117, 9.267018, 9.308838,
    9.264153, 9.278822, 9.255244, 9.229221, 9.253158, 9.256292, 9.262602, 9.219793,
    9.258452, 9.267987, 9.267987, 9.248903, 9.235153, 9.242933, 9.253453, 9.262671,
    9.242536, 9.260803, 9.259825, 9.253123, 9.240803, 9.238712, 9.263676, 9.243002,
    9.246826, 9.252107, 9.261663, 9.247311, 9.306055, 9.237646, 9.248937, 9.256689,
    9.265777, 9.299047, 9.244814, 9.287205, 9.300566, 9.256621, 9.271318, 9.275154,
    9.281834, 9.253158, 9.269024, 9.282077, 9.277507, 9.28491, 9.23984, 9.268344,
    9.247778, 9.225039, 9.23075, 9.270024, 9.265095, 9.284308, 9.280697, 9.263032,
    9.291851, 9.252072, 9.244031, 9.283269, 9.196848, 9.231372, 9.232963, 9.234956,
    9.216746, 9.274107, 9.273776,
]
# fmt: on
REVOLUTIONS = [
    17.88,
    28.92,
    33,
    41.52,
    42.12,
    45.6,
    48.4,
    51.84,
    51.96,
    54.12,
    55.56,
    67.8,
    68.64,
    68.64,
    68.88,
    84.12,
    93.12,
    98.64,
    105.12,
    105.84,
    127.92,
    128.04,
    173.4,
]  # fmt: skip


def measured(ages, distribution):
    return anderson_darling(ages, np.ones(len(ages)), distribution=distribution)


def test_a_normal_law_of_the_heat_flow_matches_four_programs():
    # The logarithm of a lognormal life is normal.
    test = measured(np.exp(HEAT_FLOW), "lognormal")

    assert test.statistic == pytest.approx(0.12647878311, rel=1e-7)
    assert test.n_failed == 195
    assert test.p_value > 0.9


def test_the_lognormal_law_of_the_bearings_matches_three_programs():
    test = measured(REVOLUTIONS, "lognormal")

    assert test.statistic == pytest.approx(0.186130230674, rel=1e-7)


def test_the_weibull_law_of_the_bearings_matches_two_programs():
    test = measured(REVOLUTIONS, "weibull")

    assert test.statistic == pytest.approx(0.328509845975, rel=1e-4)


@pytest.mark.parametrize(
    ("distribution", "points", "modification"),
    [
        (
            "lognormal",
            {0.1: 0.631, 0.05: 0.752, 0.025: 0.873, 0.01: 1.035},
            lambda n: 1 + 0.75 / n + 2.25 / n**2,
        ),
        (
            "weibull",
            {0.1: 0.637, 0.05: 0.757, 0.025: 0.877, 0.01: 1.038},
            lambda n: 1 + 0.2 / n**0.5,
        ),
        (
            "exponential",
            {0.1: 1.062, 0.05: 1.321, 0.025: 1.591, 0.01: 1.959},
            lambda n: 1 + 0.6 / n,
        ),
    ],
)
@pytest.mark.parametrize("n", [20, 200])
def test_p_values_match_the_percentage_points(distribution, points, modification, n):
    for level, point in points.items():
        statistic = point / modification(n)

        assert p_value(statistic, n, distribution) == pytest.approx(level, rel=0.05)
