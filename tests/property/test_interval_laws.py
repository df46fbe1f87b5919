"""What holds for every limit of a proportion or a rate."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from analytics.statistics.intervals import (
    benjamini_hochberg,
    binomial_interval,
    poisson_interval,
    rate_ratio,
)

FEW = settings(max_examples=100, deadline=None)
METHODS = st.sampled_from(["wilson", "clopper-pearson", "jeffreys"])


@st.composite
def events_of_trials(draw):
    n_trials = draw(st.integers(1, 5000))
    return draw(st.integers(0, n_trials)), n_trials


@FEW
@given(events_of_trials(), METHODS, st.floats(0.5, 0.999))
def test_limits_enclose_the_share_and_mirror_the_complement(counts, method, confidence):
    events, trials = counts

    low, high = binomial_interval(events, trials, method=method, confidence=confidence)
    other = binomial_interval(
        trials - events, trials, method=method, confidence=confidence
    )

    assert 0 <= low <= events / trials + 1e-12
    assert events / trials - 1e-12 <= high <= 1
    assert (1 - other[1], 1 - other[0]) == pytest.approx((low, high), abs=1e-9)


@FEW
@given(events_of_trials())
def test_exact_limits_are_those_of_the_binomial_test(counts):
    events, trials = counts

    limits = binomial_interval(events, trials, method="clopper-pearson")

    interval = stats.binomtest(events, trials).proportion_ci(method="exact")
    assert limits == pytest.approx((interval.low, interval.high), rel=1e-6, abs=1e-12)


@FEW
@given(st.integers(0, 3000), st.floats(1e-3, 1e6))
def test_garwood_limits_leave_the_tails_their_share(events, exposure):
    low, high = poisson_interval(events, exposure)

    if events:
        assert stats.poisson.sf(events - 1, low * exposure) == pytest.approx(0.025)
    assert stats.poisson.cdf(events, high * exposure) == pytest.approx(0.025)


@FEW
@given(st.integers(0, 60), st.integers(0, 60), st.floats(0.1, 100), st.floats(0.1, 100))
def test_changing_sides_inverts_the_ratio(n_a, n_b, time_a, time_b):
    one = rate_ratio(n_a, time_a, n_b, time_b)
    other = rate_ratio(n_b, time_b, n_a, time_a)

    with np.errstate(divide="ignore"):
        assert np.divide(1, other.high) == pytest.approx(one.low, rel=1e-6)
        assert np.divide(1, other.low) == pytest.approx(one.high, rel=1e-6)
    assert other.p_value == pytest.approx(one.p_value, rel=1e-6)
    if n_a + n_b:
        assert one.low <= one.ratio <= one.high


@FEW
@given(
    st.lists(st.floats(0, 1), max_size=30),
    st.floats(0.01, 0.5),
    st.randoms(use_true_random=False),
)
def test_adjusted_values_keep_their_order_and_decide(p_values, rate, random):
    order = list(range(len(p_values)))
    random.shuffle(order)

    rejected, adjusted = benjamini_hochberg(p_values, rate=rate)
    shuffled = benjamini_hochberg([p_values[i] for i in order], rate=rate)

    assert list(shuffled.adjusted) == [adjusted[i] for i in order]
    assert list(rejected) == list(adjusted <= rate)
    # As defined: all up to the largest rank i with p_(i) <= i rate / m.
    ranked = np.sort(p_values)
    passed = np.flatnonzero(
        ranked * len(ranked) <= rate * np.arange(1, len(ranked) + 1)
    )
    n_rejected = passed[-1] + 1 if len(passed) else 0
    assert abs(int(rejected.sum()) - n_rejected) <= np.sum(
        np.isclose(adjusted, rate, rtol=1e-12)
    )
    if p_values:
        assert adjusted == pytest.approx(stats.false_discovery_control(p_values))
