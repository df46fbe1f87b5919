"""What holds for every delay seen only where it has ended."""

import lifelines
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

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
def test_completeness_rises_to_1_at_the_longest_lag(reports):
    result = reporting_lag(*columns(reports))

    assert result.completeness[-1] == 1
    assert (np.diff(result.completeness) >= 0).all()
    assert (np.diff(result.lag) > 0).all()


@FEW
@given(REPORTS, st.randoms(use_true_random=False))
def test_order_and_merging_of_rows_change_nothing(reports, random):
    lag, limit, n = columns(reports)
    order = np.repeat(np.arange(len(lag)), n)
    order = order[random.sample(range(len(order)), len(order))]

    by_row = reporting_lag(lag[order], limit[order])
    grouped = reporting_lag(lag, limit, n)

    assert np.array_equal(by_row.lag, grouped.lag)
    assert by_row.completeness == pytest.approx(grouped.completeness, abs=1e-12)


@FEW
@given(REPORTS)
def test_delays_all_seen_to_the_end_give_their_shares(reports):
    lag, _, n = columns(reports)

    result = reporting_lag(lag, np.full(len(lag), 60), n)

    shares = [n[lag <= at].sum() / n.sum() for at in result.lag]
    assert result.completeness == pytest.approx(shares)


@FEW
@given(REPORTS)
def test_reversed_time_gives_a_survival_curve_with_delayed_entry(reports):
    # Backwards from 100, a lag d is an end at 100 - d and its limit the entry before.
    lag, limit, n = columns(reports)

    result = reporting_lag(lag, limit, n)

    back = lifelines.NelsonAalenFitter(nelson_aalen_smoothing=False)
    back.fit(100 - lag, entry=100 - limit - 0.5, weights=n)
    hazard = back.cumulative_hazard_at_times(100 - result.lag).to_numpy()
    steps = np.diff(np.append(hazard, 0)) * -1
    later = np.append(steps[1:], 0)
    expected = np.cumprod((1 - later)[::-1])[::-1]
    assert result.completeness == pytest.approx(expected, abs=1e-9)
