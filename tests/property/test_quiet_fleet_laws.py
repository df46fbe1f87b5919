"""How a quiet fleet scatters: the fit written plainly, and known scatter found again.

The plain fit (tests/plain_watch.py) is from the definitions, without arrays.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.statistics.quiet_fleet import fit_quiet_fleet
from tests.plain_watch import plain_fit

FEW = settings(max_examples=60, deadline=None)


@st.composite
def counts(draw):
    rng = np.random.default_rng(draw(st.integers(0, 10**6)))
    n_looks, n_strata = draw(st.integers(1, 30)), draw(st.integers(1, 8))
    e = rng.lognormal(0, draw(st.floats(0, 2)), n_strata)
    start = rng.integers(0, n_looks, n_strata)
    expected = np.where(np.arange(n_looks)[:, None] >= start, e, 0.0)
    shape = draw(st.floats(0.5, 20))
    return rng.poisson(expected * rng.gamma(shape, 1 / shape, expected.shape)), expected


@FEW
@given(counts())
def test_the_fit_is_the_one_written_plainly(fleet):
    y, e = fleet

    fit = fit_quiet_fleet(y, e)

    if y.any():
        v, phi, kappa, tau2, level, shock = plain_fit(y.tolist(), e.tolist())
        found = (fit.level_variance, fit.dispersion, fit.look_shock, fit.shock_variance)
        assert found == pytest.approx((v, phi, kappa, tau2), rel=1e-8, abs=1e-10)
        assert list(fit.level) == pytest.approx(level)
        assert list(fit.shock) == pytest.approx(shock)
    else:
        assert float(fit.level_variance) == 0.09
        assert (fit.level == 1).all()


@FEW
@given(counts())
def test_short_numbers_change_the_fit_by_rounding_only(fleet):
    y, e = fleet

    short = fit_quiet_fleet(y.astype(np.float32), e.astype(np.float32))
    fit = fit_quiet_fleet(y, e)

    assert short.dispersion == pytest.approx(fit.dispersion, rel=1e-4)
    assert short.level_variance == pytest.approx(fit.level_variance, rel=1e-3)
    assert short.level == pytest.approx(fit.level, rel=1e-3)


@pytest.mark.parametrize(
    ("v", "phi", "kappa", "tau2"),
    [(0.09, 1.0, 0.0, 0.01), (0.04, 1.6, 0.0, 0.02), (0.09, 1.5, 0.1, 0.01)],
)
def test_known_scatter_is_found_again(v, phi, kappa, tau2):
    rng, found = np.random.default_rng(7), []
    for _ in range(20):
        e = np.exp(rng.uniform(np.log(0.1), np.log(10), 150))
        m = e * rng.gamma(1 / v, v, 150) * rng.gamma(1 / tau2, tau2, (48, 1))
        if kappa:
            m *= rng.gamma(1 / kappa, kappa, m.shape)
        if phi > 1:
            m = rng.gamma(m / (phi - 1), phi - 1)
        fit = fit_quiet_fleet(rng.poisson(m), np.broadcast_to(e, m.shape))
        found.append(
            [fit.level_variance, fit.dispersion, fit.look_shock, fit.shock_variance]
        )

    mean, error = np.mean(found, axis=0), np.std(found, axis=0) / np.sqrt(20)
    # Pseudo-counts, limits (phi >= 1, kappa >= 0) and approximate weights pull a
    # little; what is left is a few standard errors and 7 % of the value.
    assert mean[0] == pytest.approx(v, abs=0.07 * v + 3 * error[0])
    assert mean[1] == pytest.approx(phi, abs=0.05 * phi)
    assert mean[2] == pytest.approx(kappa, abs=0.01 + 0.1 * kappa)
    assert mean[3] == pytest.approx(tau2, abs=0.1 * tau2 + 3 * error[3])
