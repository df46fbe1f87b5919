"""What holds for the limits of a delay seen only where it has ended."""

import lifelines
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from analytics.statistics.delays import delay_curve
from analytics.statistics.forecast import reporting_lag

FEW = settings(max_examples=60, deadline=None)
REPORTS = st.lists(
    st.tuples(st.integers(0, 30), st.integers(0, 30), st.integers(1, 9)),
    min_size=1,
    max_size=30,
)


def columns(reports):
    lag = np.array([lag for lag, _, _ in reports])
    limit = lag + [more for _, more, _ in reports]
    return lag, limit, np.array([n for _, _, n in reports])


@FEW
@given(REPORTS)
def test_shares_are_those_of_the_reporting_lag_and_lie_within_their_limits(reports):
    curve, plain = delay_curve(*columns(reports)), reporting_lag(*columns(reports))

    assert np.array_equal(curve.lag, plain.lag)
    assert np.array_equal(curve.completeness, plain.completeness)
    assert (curve.low <= curve.completeness + 1e-12).all()
    assert (curve.completeness <= curve.high + 1e-12).all()
    assert ((curve.low >= 0) & (curve.high <= 1)).all()


@FEW
@given(REPORTS)
def test_limits_are_those_of_a_survival_curve_on_reversed_time(reports):
    # Backwards from 100, a lag d is an end at 100 - d and its limit the entry before;
    # lifelines draws the limits by the same exponential Greenwood formula.
    lag, limit, n = columns(reports)
    order = np.repeat(np.arange(len(lag)), n)
    lag, limit = lag[order], limit[order]

    curve = delay_curve(lag, limit)

    # Where the curve falls to 0 early, lifelines draws none.
    assume((curve.completeness > 0).all())
    back = lifelines.KaplanMeierFitter()
    back.fit(100 - lag, entry=100 - limit - 0.5)
    limits = back.confidence_interval_
    for at, later in enumerate(curve.lag[1:]):
        # The share in by one lag is the share in before the next.
        share = back.predict(100 - later)
        assert curve.completeness[at] == pytest.approx(share, abs=1e-9)
        if 0 < share < 1:
            low, high = limits.loc[: 100 - later].iloc[-1]
            assert curve.low[at] == pytest.approx(low, abs=1e-9)
            assert curve.high[at] == pytest.approx(high, abs=1e-9)


@FEW
@given(REPORTS, st.sampled_from([0.5, 0.8, 0.95]))
def test_a_quantile_lies_in_its_interval_and_has_its_share_in(reports, share):
    curve = delay_curve(*columns(reports))

    lag = curve.quantile(share)
    low, high = curve.quantile_interval(share)

    assert low <= lag <= high <= curve.lag[-1]
    assert curve.completeness_at(lag) >= share - 1e-9
    assert lag == curve.lag[0] or curve.completeness_at(lag - 0.5) < share


def test_a_share_reached_to_the_report_is_not_missed_by_rounding():
    # Sixteen of twenty are in by day 16; the product of fractions is just below 0.8.
    assert delay_curve(range(1, 21), [99] * 20).quantile(0.8) == 16


def test_before_the_shortest_lag_nothing_is_in_and_after_the_longest_all():
    curve = delay_curve([2, 5], [9, 9])

    assert list(curve.completeness_at([0, 2, 4, 5, 99])) == [0, 0.5, 0.5, 1, 1]
    assert curve.n_reports == 2


def test_a_share_of_nothing_has_no_quantile():
    with pytest.raises(ValueError, match="share must be above 0"):
        delay_curve([1], [1]).quantile(0)
