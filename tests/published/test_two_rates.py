"""Two rates compared, exactly.

Data    Breast cancer after fluoroscopy, 41 in 28 010 against 15 in 19 017 woman-years
        (Boice and Monson 1977, in the books of Rothman); 2 in 17 877 against 9 in
        16 660 (Fay, The R Journal 2 (2010) 53); 4 in 120 against 0 in 150, made up.
Values  The ratio 1.86 is printed. Limits and p-values were only cross-checked between
        R (poisson.test) and SciPy.
Read    2026-11-25.
Digits  1.86 to half a unit of its last digit; the others to 1e-6 relative.
"""

import pytest

from analytics.statistics.intervals import rate_ratio


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
