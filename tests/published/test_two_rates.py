"""Two rates compared, exactly.

Data    Breast cancer after fluoroscopy, 41 in 28 010 against 15 in 19 017 woman-years
        (Boice and Monson 1977, in the books of Rothman); 2 in 17 877 against 9 in
        16 660 (Fay, The R Journal 2 (2010) 53); 4 in 120 against 0 in 150, made up.
Values  The ratio 1.86 is printed. Limits and p-values were only cross-checked between
        R (poisson.test) and SciPy; central p-values only worked out here, as twice the
        smaller sum of binomial terms in whole numbers and fractions.
Read    2026-11-25.
Digits  1.86 to half a unit of its last digit; the others to 1e-6 relative, sums of
        fractions to 1e-12.
"""

from fractions import Fraction
from math import comb

import pytest

from analytics.statistics.intervals import central_p_value, rate_ratio


def test_ratio_and_limits_match_the_fluoroscopy_study():
    result = rate_ratio(41, 28_010, 15, 19_017)

    assert result.ratio == pytest.approx(1.86, abs=5e-3)
    assert (result.low, result.high) == pytest.approx(
        (1.00568406269, 3.60930031108), rel=1e-6
    )
    assert result.p_value == pytest.approx(0.0408520262865, rel=1e-6)


def test_interval_and_p_value_may_disagree_as_in_fay():
    result = rate_ratio(2, 17_877, 9, 16_660)

    assert (result.low, result.high) == pytest.approx(
        (0.0217740627591, 1.00054910449), rel=1e-6
    )
    assert result.p_value == pytest.approx(0.0330942032059, rel=1e-6)


def test_no_event_in_the_second_group_leaves_the_ratio_open_above():
    result = rate_ratio(4, 120, 0, 150)

    assert result.ratio == result.high == float("inf")
    assert result.low == pytest.approx(0.8251550242, rel=1e-6)
    assert result.p_value == pytest.approx(0.0390184423106, rel=1e-6)


def doubled_tail(n_a, time_a, n_b, time_b):
    """Return twice the smaller tail of the conditional binomial, in fractions."""
    n, share = n_a + n_b, Fraction(time_a, time_a + time_b)
    term = [comb(n, k) * share**k * (1 - share) ** (n - k) for k in range(n + 1)]
    return float(min(1, 2 * min(sum(term[: n_a + 1]), sum(term[n_a:]))))


@pytest.mark.parametrize(
    "rates",
    [(41, 28_010, 15, 19_017), (2, 17_877, 9, 16_660), (4, 120, 0, 150), (5, 1, 5, 1)],
)
def test_the_central_p_value_is_the_sum_of_the_smaller_tail_doubled(rates):
    assert central_p_value(*rates) == pytest.approx(doubled_tail(*rates), rel=1e-12)


def test_the_central_p_value_agrees_with_the_interval_where_the_other_does_not():
    # Fay: the interval reaches just beyond 1, so its p-value is just above 0.05.
    assert rate_ratio(2, 17_877, 9, 16_660).p_value < 0.05
    assert 0.05 < central_p_value(2, 17_877, 9, 16_660) < 0.0502
    # By hand: four of four with share 120 / 270, doubled.
    assert central_p_value(4, 120, 0, 150) == pytest.approx(2 * (4 / 9) ** 4, rel=1e-12)
