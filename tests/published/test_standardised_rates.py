"""Directly standardised rates and standardised ratios.

Data    Down syndrome at birth by the mother's age, first and third births, Fleiss
        (1981) p. 249, as handed on by Fay and Feuer (Statistics in Medicine 16 (1997)
        791) table 1 and the example of `ageadjust.direct` in R's package epitools;
        137 observed and 24.19893 expected, the example of R's `poisson.test`; 50
        observed and 30.5 expected, made up.
Values  4.753125 and 6.692709 are printed by R for its example. No other figure is
        printed: rates and limits were cross-checked between epitools and SciPy, the
        ratio between R and SciPy.
Read    2026-11-25, and the code of `ageadjust.direct` 2026-11-27.
Digits  The limits R prints to half a unit of the last digit, the others to 1e-6
        relative.
"""

import pytest

from analytics.statistics.standardised import (
    directly_standardised_rate,
    standardised_ratio,
)

# Mothers under 20, 20-24, 25-29, 30-34, 35-39, 40 and older: cases, births.
FIRST = [107, 141, 60, 40, 39, 25], [230_061, 329_449, 114_920, 39_487, 14_208, 3_052]
THIRD = [3, 71, 114, 103, 108, 75], [15_050, 175_702, 207_081, 117_300, 45_026, 8_660]
ALL_BIRTHS = [63_986.6, 186_263.6, 157_302.2, 97_647.0, 47_572.6, 12_262.6]


@pytest.mark.parametrize(
    ("order", "rate", "limits"),
    [
        (FIRST, 0.000923045255332, (0.000804417498507, 0.00105763345749)),
        (THIRD, 0.000850692213383, (0.000771834534027, 0.000942235698322)),
    ],
)
def test_rate_and_gamma_limits_match_the_births_of_fay_and_feuer(order, rate, limits):
    cases, births = order

    found = directly_standardised_rate(cases, births, ALL_BIRTHS)

    assert found.rate == pytest.approx(rate, rel=1e-6)
    assert (found.low, found.high) == pytest.approx(limits, rel=1e-6)


def test_both_orders_of_birth_at_once_give_the_same():
    cases, births = zip(FIRST, THIRD, strict=True)

    found = directly_standardised_rate(cases, births, ALL_BIRTHS)

    assert found.rate == pytest.approx([0.000923045255332, 0.000850692213383], rel=1e-6)


def test_ratio_and_limits_match_the_example_of_r():
    found = standardised_ratio(137, 24.19893)

    assert (found.low, found.high) == pytest.approx((4.753125, 6.692709), abs=5e-7)


def test_ratio_and_limits_of_50_where_30_5_were_expected():
    found = standardised_ratio(50, 30.5)

    assert found.ratio == pytest.approx(1.6393442623, rel=1e-9)
    assert (found.low, found.high) == pytest.approx(
        (1.21675290942, 2.16127103817), rel=1e-6
    )
