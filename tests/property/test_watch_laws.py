"""What holds for every watched fleet."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.statistics.quiet_fleet import QuietFleet, fit_quiet_fleet
from analytics.statistics.quiet_scaling import look_totals, shocked_looks
from analytics.statistics.watch_evidence import watch
from analytics.statistics.watch_threshold import calibrate
from tests.plain_watch import plain_scaled, plain_watch

FEW = settings(max_examples=60, deadline=None)


def drawn_fleet(rng, n_looks, n_strata, *, scatter=True):
    """Return failures and expected ones of a fleet whose strata start at any look."""
    e = np.exp(rng.uniform(np.log(0.02), np.log(8), n_strata))
    start = rng.integers(0, max(n_looks // 2, 1), n_strata)
    expected = np.where(np.arange(n_looks)[:, None] >= start, e, 0.0)
    level = rng.gamma(8, 1 / 8, n_strata) if scatter else 1.0
    risen = np.where(np.arange(n_looks)[:, None] > n_looks * 0.6, 2.5, 1.0)
    rate = expected * level * np.where(rng.random(n_strata) < 0.3, risen, 1.0)
    clusters = rng.poisson(rate / 1.4)
    return clusters + rng.binomial(clusters, 0.4), expected


@st.composite
def fleets(draw):
    rng = np.random.default_rng(draw(st.integers(0, 10**6)))
    return drawn_fleet(rng, draw(st.integers(1, 50)), draw(st.integers(1, 6)))


@FEW
@given(fleets(), st.floats(0.5, 4), st.booleans(), st.integers(0, 30), st.randoms())
def test_the_fast_watch_finds_what_the_plain_one_finds(
    fleet, level, is_short, first_live, random
):
    y, e = fleet
    n_looks, n_strata = y.shape
    fit = fit_quiet_fleet(y, e)
    known = {
        (random.randrange(n_looks), random.randrange(n_strata))
        for _ in range(random.randrange(3))
    }
    threshold = [None if t < first_live else level for t in range(n_looks)]
    scaled, expected = plain_scaled(y.tolist(), e.tolist(), fit)
    evidence, alarms = plain_watch(
        scaled,
        expected,
        y.tolist(),
        float(fit.level_variance),
        threshold,
        known,
        float(fit.level_drift),
    )

    kind = np.float32 if is_short else np.float64
    found = watch(
        y.astype(kind),
        e.astype(kind),
        fit,
        level,
        first_live=first_live,
        known=known,
        keep_evidence=True,
    )

    # A single that lies on the threshold to its last digit may fall on either side.
    plain = np.array(evidence, dtype=np.float64)
    if not (np.abs(plain - level) < 1e-3).any():
        pairs = zip(found.look.tolist(), found.stratum.tolist(), strict=True)
        assert sorted(pairs) == alarms
        np.testing.assert_allclose(found.best_evidence, plain, atol=2e-4, rtol=2e-4)
        at = found.look, found.stratum
        assert found.evidence == pytest.approx(np.nan_to_num(plain[at]), abs=2e-4)


@FEW
@given(fleets(), st.integers(0, 10**6))
def test_an_empty_stratum_and_another_order_change_nothing(fleet, seed):
    y, e = fleet
    rng = np.random.default_rng(seed)
    order = rng.permutation(y.shape[1])
    more_y = np.insert(y[:, order], 0, 0, axis=1)
    more_e = np.insert(e[:, order], 0, 0.0, axis=1)

    one = watch(y, e, fit_quiet_fleet(y, e), 1.0)
    fit = fit_quiet_fleet(more_y, more_e)
    other = watch(more_y, more_e, fit, 1.0)

    plain = fit_quiet_fleet(y, e)
    for name in ("level_variance", "dispersion", "look_shock", "shock_variance"):
        assert getattr(fit, name) == pytest.approx(getattr(plain, name), rel=1e-9)
    assert fit.level[1:] == pytest.approx(plain.level[order], rel=1e-9)
    named = sorted(zip(one.look, one.stratum, strict=True))
    again = sorted(zip(other.look, order[other.stratum - 1], strict=True))
    assert named == again
    assert sorted(one.ratio) == pytest.approx(sorted(other.ratio), rel=1e-6)


@FEW
@given(fleets(), st.floats(0.3, 3))
def test_alarms_of_a_stratum_keep_twelve_looks_apart_and_rest_on_two_failures(
    fleet, level
):
    y, e = fleet

    found = watch(y, e, fit_quiet_fleet(y, e), level)

    for stratum in np.unique(found.stratum):
        assert (np.diff(found.look[found.stratum == stratum]) > 12).all()
    assert (found.observed >= 2).all()
    assert (y[found.look, found.stratum] > 0).all()
    assert (found.evidence >= level - 1e-6).all()
    assert ((found.low <= found.ratio) & (found.ratio <= found.high)).all()
    assert ((found.since <= found.look) & (found.since > found.look - 12)).all()
    keys = list(zip(found.look, -found.evidence, strict=True))
    assert keys == sorted(keys)


@FEW
@given(st.integers(0, 10**6), st.integers(2, 30), st.integers(1, 5), st.integers(1, 4))
def test_replicates_fitted_at_once_are_those_fitted_one_by_one(
    seed, n_looks, n_strata, n_draws
):
    rng = np.random.default_rng(seed)
    both = [drawn_fleet(rng, n_looks, n_strata) for _ in range(n_draws)]
    y, e = (np.stack([one[i] for one in both], axis=1) for i in range(2))

    fit = fit_quiet_fleet(y, e)
    y = y.astype(float)
    scaled = shocked_looks(y, e, fit, look_totals(y, e, fit))

    for place, (own_y, own_e) in enumerate(both):
        own = fit_quiet_fleet(own_y, own_e)
        for name in ("level_variance", "dispersion", "look_shock", "shock_variance"):
            assert getattr(fit, name)[place] == pytest.approx(getattr(own, name))
        assert fit.level[place] == pytest.approx(own.level)
        assert fit.shock[:, place] == pytest.approx(own.shock)
        counts = own_y.astype(float)
        alone = shocked_looks(counts, own_e, own, look_totals(counts, own_e, own))
        for many, one in zip(scaled, alone, strict=True):
            np.testing.assert_allclose(many[:, place], one, rtol=1e-9)


def test_a_part_of_the_strata_is_scaled_as_all_of_them():
    rng = np.random.default_rng(2)
    y, e = drawn_fleet(rng, 30, 9)
    y = y.astype(float)
    fit = fit_quiet_fleet(y, e)

    m, spread = shocked_looks(y, e, fit, look_totals(y, e, fit))
    part = slice(3, 7)
    few = shocked_looks(y[:, part], e[:, part], fit, look_totals(y, e, fit), part)

    np.testing.assert_allclose(few[0], m[:, part])
    np.testing.assert_allclose(few[1], spread[:, part])


def test_above_two_thousand_strata_one_shock_serves_all_and_changes_little():
    rng = np.random.default_rng(3)
    y, e = drawn_fleet(rng, 24, 2100)
    y, e = y.astype(float), np.maximum(e, 0.02)
    fit = fit_quiet_fleet(y, e)

    m, _ = shocked_looks(y, e, fit, look_totals(y, e, fit))

    assert m == pytest.approx(e * fit.shock[:, None])
    few = slice(0, 2000)
    less = QuietFleet(
        fit.level_variance,
        fit.dispersion,
        fit.look_shock,
        fit.shock_variance,
        fit.level[few],
        fit.shock,
    )
    own, _ = shocked_looks(
        y[:, few], e[:, few], less, look_totals(y[:, few], e[:, few], less)
    )
    assert own == pytest.approx(m[:, few], rel=0.1)


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6), st.integers(4, 40), st.integers(0, 45))
def test_thresholds_let_as_many_columns_through_as_alarms_are_allowed(
    seed, n_looks, first_live
):
    rng = np.random.default_rng(seed)
    y, e = drawn_fleet(rng, n_looks, 5)
    fit = fit_quiet_fleet(y, e)

    found = calibrate(e, fit, per_year=2, rng=rng, n_draws=30, first_live=first_live)

    assert np.isnan(found.threshold[:first_live]).all()
    assert (found.threshold[first_live:] >= 0.5).all()
    covered = [t for first, last in found.block for t in range(first, last)]
    assert covered == list(range(min(first_live, n_looks), n_looks))
    for (first, last), largest in zip(found.block, found.exceeding, strict=True):
        assert len(set(found.threshold[first:last])) == 1
        allowed = max(1, round(2 / 12 * (last - first) * 30))
        n_through = (largest >= found.threshold[first]).sum()
        assert n_through <= allowed
        assert n_through == allowed or found.threshold[first] == 0.5
        rate = found.times_per_year(first, found.threshold[first])
        assert rate == pytest.approx(n_through / 30 / (last - first) * 12)


@pytest.mark.parametrize("parts", [1, 2, 5])
def test_however_strata_are_split_new_quiet_fleets_alarm_as_often_as_set(parts):
    rng = np.random.default_rng(12)
    y, e = drawn_fleet(rng, 36, 40)
    fit = fit_quiet_fleet(y, e)
    split = np.repeat(e / parts, parts, axis=1)

    setting, anew = (
        calibrate(split, fit, per_year=4, rng=np.random.default_rng(seed), n_draws=400)
        for seed in (1, 2)
    )

    for first, last in setting.block:
        rate = anew.times_per_year(first, setting.threshold[first])
        n_alarms = 4 / 12 * (last - first) * 400
        # Both simulations are chance: two counts of this size. At the least threshold
        # alarms are fewer than allowed.
        most_away = 4 * 4 * (2 / n_alarms) ** 0.5
        if setting.threshold[first] > 0.5:
            assert rate == pytest.approx(4, abs=most_away)
        else:
            assert rate < 4 + most_away
    assert setting.threshold[-1] > 0.5
