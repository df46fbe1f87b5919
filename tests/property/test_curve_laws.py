"""What holds for every curve, band, mean and hazard."""

from dataclasses import fields
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from analytics.statistics.hazard import hazard_by_age
from analytics.statistics.life import kaplan_meier, nelson_aalen
from analytics.statistics.restricted_mean import restricted_mean
from analytics.statistics.survival_band import survival_band
from tests.random_lives import counts, fleets

FEW = settings(max_examples=60, deadline=None)
FACTORS = st.sampled_from([1 / 365.25, 0.5, 24, 1e4])
HORIZON = 12.0
EDGES = np.array([0, 3, 4, 9, 12.0])
# Between ages: in another unit, a rounding must not move an age over an edge.
SHARES = np.array([0, 2.5, 4.5, 9.5, 12]) / 12


ESTIMATES = {
    "survival": kaplan_meier,
    "hazard": nelson_aalen,
    "band": lambda **lives: survival_band(
        **lives, from_age=lives["age"][lives["n_failed"] > 0].min()
    ),
    "mean": lambda **lives: restricted_mean(**lives, horizon=lives["age"].max()),
    "rate": lambda **lives: hazard_by_age(**lives, edges=SHARES * lives["age"].max()),
}
EVERY = pytest.mark.parametrize("name", ESTIMATES)


def values(result):
    return {one.name: np.asarray(getattr(result, one.name)) for one in fields(result)}


def assume_answered(name, age, failed):
    """Keep to fleets with a failure; a mean needs one before its horizon."""
    assume(failed[age < age.max()].any() if name == "mean" else failed.any())


def assert_same(one, other, *, scale=1.0):
    """Hold two results together; ages and times of the first are `scale` as long."""
    longer = {"age", "from_age", "to_age", "exposure", "mean", "horizon"}
    per_age = {"rate"}
    is_mean, is_rate = "horizon" in values(one), "rate" in values(one)
    for name, value in values(one).items():
        factor = scale if name in longer else 1.0
        if is_mean and name in {"standard_error", "low", "high"}:
            factor = scale
        if name in per_age or (is_rate and name in {"low", "high"}):
            factor = 1 / scale
        assert value == pytest.approx(
            factor * values(other)[name], rel=1e-9, abs=1e-12, nan_ok=True
        ), name


@EVERY
@FEW
@given(fleets(), st.randoms(use_true_random=False))
def test_order_grouping_and_split_rows_change_nothing(name, fleet, random):
    age, failed, entry, _, _ = fleet
    assume_answered(name, age, failed)
    order = list(range(len(age)))
    random.shuffle(order)
    distinct, where = np.unique(age, return_inverse=True)
    entries, n_entered = np.unique(entry, return_counts=True)

    by_unit = ESTIMATES[name](
        **counts(age[order], failed[order]), entry_age=entry[order]
    )
    grouped = ESTIMATES[name](
        age=distinct,
        n_failed=np.bincount(where, weights=failed),
        n_censored=np.bincount(where, weights=1 - failed),
        entry_age=entries,
        n_entered=n_entered,
    )
    # The same entries in two rows each, one of them of nobody.
    split = ESTIMATES[name](
        **counts(age, failed),
        entry_age=np.repeat(entries, 3),
        n_entered=np.stack([n_entered - 1, np.ones_like(n_entered), 0 * n_entered], 1)
        .ravel(),
    )  # fmt: skip

    assert_same(by_unit, grouped)
    assert_same(split, grouped)


@EVERY
@FEW
@given(fleets(), FACTORS)
def test_another_unit_of_age_changes_only_ages_and_rates(name, fleet, factor):
    age, failed, entry, _, _ = fleet
    assume_answered(name, age, failed)

    one = ESTIMATES[name](**counts(age, failed), entry_age=entry)
    other = ESTIMATES[name](**counts(age * factor, failed), entry_age=entry * factor)

    assert_same(other, one, scale=factor)


@EVERY
@FEW
@given(fleets())
def test_everybody_seen_from_new_is_no_late_entry(name, fleet):
    age, failed, _, _, _ = fleet
    assume_answered(name, age, failed)

    without = ESTIMATES[name](**counts(age, failed))
    with_entries = ESTIMATES[name](**counts(age, failed), entry_age=np.zeros(len(age)))

    assert_same(with_entries, without)


@FEW
@given(fleets())
def test_merged_groups_are_added_counts(fleet):
    age, failed, entry, group, _ = fleet
    distinct, where = np.unique(age, return_inverse=True)
    per_group = [
        (
            np.bincount(where, weights=failed * (group == g)),
            np.bincount(where, weights=(1 - failed) * (group == g)),
        )
        for g in (0, 1)
    ]

    together = kaplan_meier(**counts(age, failed), entry_age=entry)
    added = kaplan_meier(
        distinct,
        per_group[0][0] + per_group[1][0],
        per_group[0][1] + per_group[1][1],
        entry_age=entry,
    )

    assert_same(added, together)


@FEW
@given(fleets())
def test_twice_the_units_halve_variances_and_keep_estimates(fleet):
    age, failed, entry, _, _ = fleet
    assume_answered("mean", age, failed)
    twice = {"age": age, "n_failed": 2 * failed, "n_censored": 2 - 2 * failed}
    entries = {"entry_age": entry, "n_entered": np.full(len(age), 2)}

    one = {
        n: make(**counts(age, failed), entry_age=entry) for n, make in ESTIMATES.items()
    }
    two = {n: make(**twice, **entries) for n, make in ESTIMATES.items()}

    assert two["mean"].mean == pytest.approx(one["mean"].mean)
    assert two["mean"].standard_error == pytest.approx(
        one["mean"].standard_error / np.sqrt(2)
    )
    assert two["hazard"].cumulative_hazard == pytest.approx(
        one["hazard"].cumulative_hazard
    )
    assert two["rate"].rate == pytest.approx(one["rate"].rate, nan_ok=True)
    assert list(two["rate"].exposure) == list(2 * one["rate"].exposure)
    # Greenwood's sum grows alike, and the band is as many standard errors wide.
    assert two["band"].critical_value == pytest.approx(one["band"].critical_value)
    assert (
        two["band"].high - two["band"].low < one["band"].high - one["band"].low
    ).all()


@FEW
@given(fleets())
def test_the_band_holds_the_limits_at_each_age(fleet):
    age, failed, entry, _, _ = fleet
    assume(failed.any())

    band = ESTIMATES["band"](**counts(age, failed), entry_age=entry)
    curve = kaplan_meier(**counts(age, failed), entry_age=entry)

    survival, low, high = curve.at(band.age)
    assert list(band.survival) == list(survival)
    assert (band.low <= low + 1e-12).all()
    assert (band.high >= high - 1e-12).all()
    assert (band.low >= 0).all()
    assert (band.high <= 1).all()


@FEW
@given(fleets(), st.floats(0.01, 0.99))
def test_quantiles_are_where_the_curve_is(fleet, p):
    age, failed, entry, _, _ = fleet

    curve = kaplan_meier(**counts(age, failed), entry_age=entry)

    at = curve.quantile(p)
    low, high = curve.quantile_interval(p)
    assert low <= at <= high
    if np.isfinite(at):
        assert curve.at(at)[0] <= 1 - p + 1e-9
        assert curve.at(np.nextafter(at, 0))[0] > 1 - p - 1e-9
    else:
        assert (curve.survival > 1 - p).all()


@FEW
@given(fleets())
def test_without_censoring_a_restricted_mean_is_the_mean_of_the_lives(fleet):
    age, n = fleet[0], len(fleet[0])

    result = restricted_mean(age, np.ones(n), np.zeros(n), horizon=HORIZON)

    assert result.mean == pytest.approx(age.mean())
    assert result.standard_error == pytest.approx(age.std() / np.sqrt(n), abs=1e-12)
    assert result.low <= result.mean <= result.high <= HORIZON


@FEW
@given(fleets(), st.integers(1, 11))
def test_a_further_horizon_adds_the_area_between(fleet, nearer):
    age, failed, entry, _, _ = fleet
    lives = counts(age, failed)
    assume(failed[age < nearer].any())

    near = restricted_mean(**lives, entry_age=entry, horizon=nearer)
    far = restricted_mean(**lives, entry_age=entry, horizon=HORIZON)

    curve = kaplan_meier(**lives, entry_age=entry)
    steps = np.arange(nearer, HORIZON)  # ages are whole: the curve is flat in between
    assert far.mean - near.mean == pytest.approx(curve.at(steps)[0].sum())
    assert far.standard_error >= near.standard_error - 1e-12


@FEW
@given(fleets())
def test_pieces_of_age_share_out_failures_and_time_in_view(fleet):
    age, failed, entry, _, _ = fleet

    result = hazard_by_age(**counts(age, failed), entry_age=entry, edges=EDGES)

    assert result.n_failed.sum() == failed.sum()
    assert result.exposure.sum() == pytest.approx((age - entry).sum())
    for place, (a, b) in enumerate(pairwise(EDGES)):
        time = np.clip(np.minimum(age, b) - np.maximum(entry, a), 0, None).sum()
        assert result.exposure[place] == pytest.approx(time)
        assert result.n_failed[place] == failed[(age > a) & (age <= b)].sum()
    known = ~np.isnan(result.rate)
    assert (result.low[known] <= result.rate[known]).all()
    assert (result.rate[known] <= result.high[known]).all()
