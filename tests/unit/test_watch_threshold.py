"""Thresholds from simulated quiet fleets: sizes, borders, what is refused."""

import math

import numpy as np
import pytest

from analytics.statistics.quiet_fleet import fit_quiet_fleet
from analytics.statistics.watch_simulation import blocks_of, draw_quiet
from analytics.statistics.watch_threshold import calibrate


def fleet(n_looks=30, n_strata=6, e=1.0):
    rng = np.random.default_rng(4)
    expected = np.full((n_looks, n_strata), e)
    return expected, fit_quiet_fleet(rng.poisson(expected), expected)


def test_blocks_are_counted_back_from_a_last_one_of_three_looks():
    assert blocks_of(30, 0) == [(0, 3), (3, 15), (15, 27), (27, 30)]
    assert blocks_of(30, 10) == [(10, 15), (15, 27), (27, 30)]
    assert blocks_of(30, 28) == [(28, 30)]
    assert blocks_of(30, 30) == []
    assert blocks_of(2, 0) == [(0, 2)]


def test_so_many_fleets_are_drawn_that_fifty_alarms_set_the_live_threshold():
    e, fit = fleet()

    found = calibrate(e, fit, per_year=2, rng=np.random.default_rng(1))

    assert found.n_draws == 100  # 2 a year are half an alarm in three looks
    assert (found.exceeding[-1] >= found.threshold[-1]).sum() == 50
    assert found.times_per_year(29, found.threshold[-1]) == pytest.approx(2)
    assert found.times_per_year(29, math.inf) == 0


def test_more_alarms_allowed_means_a_lower_threshold():
    e, fit = fleet()

    few, many = (
        calibrate(e, fit, per_year=rate, rng=np.random.default_rng(1), n_draws=200)
        for rate in (0.5, 4)
    )

    assert (few.threshold >= many.threshold).all()
    assert few.threshold[-1] > many.threshold[-1]


def test_before_the_watch_began_there_is_no_threshold():
    e, fit = fleet()

    found = calibrate(
        e, fit, per_year=2, rng=np.random.default_rng(1), n_draws=20, first_live=20
    )

    assert np.isnan(found.threshold[:20]).all()
    assert found.block == ((20, 27), (27, 30))
    # A look before counts as the first that was watched.
    assert found.times_per_year(3, 2.0) == found.times_per_year(20, 2.0)


def test_a_watch_that_has_not_begun_and_a_fleet_without_strata_have_no_threshold():
    e, fit = fleet()
    rng = np.random.default_rng(1)

    late = calibrate(e, fit, per_year=2, rng=rng, first_live=30)
    empty = calibrate(np.zeros((5, 2)), fit, per_year=2, rng=rng)

    for found in (late, empty):
        assert np.isnan(found.threshold).all()
        assert math.isnan(found.times_per_year(0, 1.0))


def test_of_many_strata_a_thousand_are_drawn_at_their_share_of_the_rate():
    e, fit = fleet(n_looks=6, n_strata=2500, e=0.3)

    found = calibrate(e, fit, per_year=10, rng=np.random.default_rng(1), n_draws=20)

    assert found.share == pytest.approx(0.4)
    # 10 a year over 2 500 are 4 over 1 000: 20 in three looks of 20 replicates.
    assert (found.exceeding[-1] >= found.threshold[-1]).sum() == 20
    assert found.times_per_year(5, found.threshold[-1]) == pytest.approx(10)


def test_expected_failures_can_be_made_again_from_each_draw():
    e, fit = fleet()
    seen = []

    def rebuild(y):
        seen.append(y.shape)
        scale = y.sum(axis=(0, 2)) / e.sum()
        return e[:, None] * scale[:, None]

    found = calibrate(
        e, fit, per_year=2, rng=np.random.default_rng(1), n_draws=7, rebuild=rebuild
    )

    assert sum(shape[1] for shape in seen) == 7
    assert {(shape[0], shape[2]) for shape in seen} == {e.shape}
    assert (found.threshold > 0).all()


def test_drawn_fleets_have_the_mean_and_variance_of_the_fit():
    e = np.full((40, 50), 3.0, dtype=np.float32)
    e[:20, :10] = 0
    rng = np.random.default_rng(2)
    truth = rng.poisson(
        rng.gamma(2 * e / 0.5 + 1e-9, 0.25 + 0 * e) * rng.gamma(10, 0.1, e.shape)
    )
    fit = fit_quiet_fleet(np.where(e > 0, truth, 0), e)

    y = draw_quiet(e, fit, 300, rng)

    v, phi, kappa, tau2 = (
        float(x)
        for x in (
            fit.level_variance,
            fit.dispersion,
            fit.look_shock,
            fit.shock_variance,
        )
    )
    assert (y[:20, :, :10] == 0).all()
    cells = y[20:].astype(float)
    assert cells.mean() == pytest.approx(3, rel=0.02)
    # Var y = phi m + m^2 ((1 + kappa)(1 + v)(1 + tau2) - 1), of independent factors.
    spread = phi * 3 + 9 * ((1 + kappa) * (1 + v) * (1 + tau2) - 1)
    assert cells.var() == pytest.approx(spread, rel=0.04)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"per_year": 0}, "per_year"),
        ({"per_year": math.nan}, "per_year"),
        ({"n_draws": 0}, "n_draws"),
        ({"n_expected": np.ones(3)}, "looks by strata"),
        ({"n_expected": -np.ones((3, 2))}, "not negative"),
    ],
)
def test_what_makes_no_sense_is_refused(options, words):
    e, fit = fleet()
    given = {"n_expected": e, "per_year": 2, "rng": np.random.default_rng(1)} | options
    with pytest.raises(ValueError, match=words):
        calibrate(given.pop("n_expected"), fit, **given)
