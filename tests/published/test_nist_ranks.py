"""The least-squares line through the plotted points of the engineering handbook.

Data    NIST/SEMATECH e-Handbook of Statistical Methods 8.4.1.1 and 8.2.2.1: 20 units,
        10 failures, 10 still working at 500 hours; positions by Benard.
Values  The output of the handbook's own R script, in base-10 logarithms and measured
        along the fraction: slope 1.457519, intercept -4.116536, thus scale 667.336.
        The line measured along age has no printed figure: shape 1.62596276717, scale
        601.959890301 by NumPy.
Read    2026-11-25.
Digits  Slope to half a unit of its last digit; the scale to 0.1, as it follows from a
        rounded intercept; the rest 1e-7 relative.
"""

import pytest

from analytics.statistics.plotted_points import line_through_points, plotted_points

HOURS = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386, 500]
N_FAILED = [1] * 10 + [0]
N_WORKING = [0] * 10 + [10]


def test_the_line_along_the_fraction_matches_the_printed_one():
    points = plotted_points(HOURS, N_FAILED, N_WORKING, position="benard")

    line = line_through_points(points, distribution="weibull", distances="fraction")

    assert line.parameters["shape"] == pytest.approx(1.457519, abs=5e-7)
    assert line.parameters["scale"] == pytest.approx(
        10 ** (4.116536 / 1.457519), abs=0.1
    )
    assert line.parameters["scale"] == pytest.approx(667.336363503, rel=1e-7)
    assert line.n_points == 10


def test_the_line_along_age_matches_its_normal_equations():
    points = plotted_points(HOURS, N_FAILED, N_WORKING, position="benard")

    line = line_through_points(points, distribution="weibull")

    assert line.parameters == pytest.approx(
        {"shape": 1.62596276717, "scale": 601.959890301}, rel=1e-7
    )
