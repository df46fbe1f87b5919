"""Limits of a delay's quantiles hold the true value at the stated rate.

Reports of failures spread over a year, seen only where the delay has ended by the last
day; delays of whole days, rounded up from a gamma law (shape 4, mean 20 days). Whole
days make the limits wide, so that they cover more often than 95 %. With few reports the
longest delay seen is often shorter than the true 95 % point, and no limit lies beyond
it: below a hundred reports that quantile is covered too seldom, as stated here.
"""

import numpy as np
import pytest
from scipy import stats

from analytics.statistics.delays import delay_curve

N_SAMPLES = 400
LAW = stats.gamma(4, scale=5)
TRUTH = {share: int(np.ceil(LAW.ppf(share))) for share in (0.5, 0.8, 0.95)}


def covered(n_failures, *, rng):
    """Return how often the interval of each quantile holds its true value."""
    hits = dict.fromkeys(TRUTH, 0)
    for _ in range(N_SAMPLES):
        limit = rng.integers(0, 365, size=n_failures)
        delay = np.ceil(LAW.rvs(size=n_failures, random_state=rng))
        is_seen = delay <= limit
        curve = delay_curve(delay[is_seen], limit[is_seen])
        for share, true in TRUTH.items():
            low, high = curve.quantile_interval(share)
            hits[share] += low <= true <= high
    return {share: n / N_SAMPLES for share, n in hits.items()}


@pytest.mark.parametrize("n_failures", [200, 600])
def test_every_quantile_is_covered_at_the_stated_rate(n_failures):
    rates = covered(n_failures, rng=np.random.default_rng(5))

    # Three standard errors of 400 draws at 95 % are 3.3 points.
    assert min(rates.values()) > 0.917, rates


def test_with_few_reports_only_the_95_percent_point_is_covered_too_seldom():
    rates = covered(40, rng=np.random.default_rng(5))

    assert rates[0.5] > 0.917
    assert rates[0.8] > 0.917
    assert 0.75 < rates[0.95] < 0.917
