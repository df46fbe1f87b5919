"""What holds for families of strata that overlap."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.statistics import watch_families
from analytics.statistics.quiet_fleet import QuietFleet
from analytics.statistics.watch_families import (
    Family,
    calibrate_families,
    expected_and_observed,
)
from analytics.statistics.watch_joint import Scatter, draw_failures, scatter_of
from analytics.statistics.watched_fleet import family_table
from tests.random_watched_fleet import watched_fleet

FEW = settings(max_examples=15, deadline=None)
SEEDS = st.integers(0, 10**6)


def calibrated(fleet, families, **options):
    given_options = {"per_year": 2, "rng": np.random.default_rng(9), "n_draws": 40}
    return calibrate_families(fleet, families, **(given_options | options))


@FEW
@given(SEEDS)
def test_expected_failures_add_up_to_the_observed_ones(seed):
    fleet, families = watched_fleet(np.random.default_rng(seed))

    for family in families:
        found = expected_and_observed(fleet, family)

        assert found.observed.sum() == len(fleet.failure_mode)
        assert found.expected.sum() == pytest.approx(found.observed.sum())
        assert not found.observed[found.expected == 0].any()
        # So they do for each mode, and so for each group of modes.
        for group in np.unique(found.stratum_failure):
            own = found.stratum_failure == group
            assert found.expected[:, own].sum() == pytest.approx(
                found.observed[:, own].sum()
            )


@FEW
@given(SEEDS)
def test_the_order_of_rows_and_an_empty_kind_change_nothing(seed):
    rng = np.random.default_rng(seed)
    fleet, families = watched_fleet(rng)
    rows, failures = (rng.permutation(len(x)) for x in (fleet.kind, fleet.failure_kind))
    mixed = replace(
        fleet,
        n_kinds=fleet.n_kinds + 1,
        **{
            name: getattr(fleet, name)[rows]
            for name in ("kind", "look", "age", "exposure")
        },
        **{
            name: getattr(fleet, name)[failures]
            for name in ("failure_kind", "failure_look", "failure_age", "failure_mode")
        },
    )
    for family in families:
        more = replace(family, value_of_kind=np.append(family.value_of_kind, 77))

        one, other = (
            expected_and_observed(fleet, family),
            expected_and_observed(mixed, more),
        )

        assert (one.observed == other.observed).all()
        np.testing.assert_allclose(one.expected, other.expected)
        assert (one.stratum_of_failure[failures] == other.stratum_of_failure).all()


def test_other_names_for_values_change_what_quiet_fleets_show_by_chance_only():
    fleet, families = watched_fleet(np.random.default_rng(3))
    renamed = [
        replace(family, value_of_kind=family.value_of_kind.max() - family.value_of_kind)
        for family in families
    ]

    one, other = (calibrated(fleet, some, n_draws=300) for some in (families, renamed))

    for name, fit in one.fits.items():
        assert other.fits[name].dispersion == pytest.approx(fit.dispersion)
        for look in (5, 20, 35):
            rates = (some.times_per_year(name, look, 1.5) for some in (one, other))
            assert next(rates) == pytest.approx(next(rates), rel=0.25, abs=0.15)


def test_thresholds_let_the_allowed_groups_through_in_new_fleets():
    # The same quiet law, drawn anew: groups founded by alarms at the thresholds found.
    fleet, families = watched_fleet(np.random.default_rng(5))
    found = calibrated(fleet, families, n_draws=400)
    assert found.is_joint
    again = calibrated(fleet, families, n_draws=400, rng=np.random.default_rng(10))

    for name in found.thresholds:
        for look in (5, 20, 35):
            level = found.thresholds[name][look]
            # Before joining there are at least as many as allowed, half a year each,
            # unless the least threshold is above.
            if level > 0.6:
                rate = again.times_per_year(name, look, level)
                assert 0.3 < rate < 1.5


def test_families_that_are_the_same_share_their_alarms():
    # Two families of one partition: what one shows the other shows, and counts once.
    fleet, families = watched_fleet(np.random.default_rng(6))
    twin = replace(families[3], name="twin")

    found = calibrated(fleet, [families[3], twin], n_draws=300)
    alone = calibrated(fleet, [families[3]], n_draws=300)

    # What reaches the lower of the two thresholds founds a group, 2 a year as alone,
    # but for what joins an alarm of the block before.
    live = min(found.thresholds["lot"][-1], found.thresholds["twin"][-1])
    assert found.times_per_year("lot", 35, live) == pytest.approx(2, rel=0.25)
    assert live == pytest.approx(alone.thresholds["lot"][-1], abs=0.5)


@FEW
@given(SEEDS)
def test_drawn_fleets_have_the_failures_expected_and_lie_where_there_is_exposure(seed):
    rng = np.random.default_rng(seed)
    fleet, families = watched_fleet(rng)
    tables = [family_table(fleet, family) for family in families]
    scatter = Scatter(
        level_variance=np.array([0.0, 0.02, 0.03, 0.0]),
        look_shock=np.array([0.0, 0.05, 0.0, 0.1]),
        level_drift=np.array([0.0, 0.0, 0.001, 0.0]),
        dispersion=1.5,
        shock_variance=0.01,
    )

    drawn = draw_failures(fleet, tables, scatter, 60, rng)

    n = np.bincount(drawn.replicate, minlength=60)
    assert n.mean() == pytest.approx(
        len(fleet.failure_mode), abs=5 * n.std() / np.sqrt(60)
    )
    by_mode = np.bincount(drawn.mode, minlength=fleet.n_modes) / n.sum()
    real = np.bincount(fleet.failure_mode, minlength=fleet.n_modes)
    assert by_mode == pytest.approx(real / real.sum(), abs=0.05)
    cells, drawn_cells = (
        (kind * fleet.n_looks + look) * fleet.n_ages + age
        for kind, look, age in (
            (fleet.kind, fleet.look, fleet.age),
            (drawn.kind, drawn.look, drawn.age),
        )
    )
    assert np.isin(drawn_cells, cells).all()
    keys = drawn.replicate * fleet.n_looks + drawn.look
    assert (np.diff(keys) >= 0).all()
    places = np.arange(60 * fleet.n_looks)
    assert (np.searchsorted(keys, places) == drawn.first[:-1]).all()


def test_drawn_strata_scatter_as_their_family_says():
    # One family varies: of its strata's totals, the variance is phi m + v m^2.
    rng = np.random.default_rng(8)
    fleet, families = watched_fleet(rng, per_look=60)
    table = family_table(fleet, families[1])
    scatter = Scatter(np.array([0.2]), np.array([0.0]), np.array([0.0]), 1.6, 1e-6)

    drawn = draw_failures(fleet, [table], scatter, 800, rng)

    n_strata = len(table.strata)
    cells = drawn.replicate * n_strata + table.stratum(drawn.mode, drawn.kind)
    totals = np.bincount(cells, minlength=800 * n_strata).reshape(800, n_strata)
    expected = expected_and_observed(fleet, families[1]).expected.sum(axis=0)
    assert totals.mean(axis=0) == pytest.approx(expected, rel=0.05)
    variance = 1.6 * expected + 0.2 * expected**2
    assert totals.var(axis=0) == pytest.approx(variance, rel=0.3)


def test_variance_is_shared_among_families_as_they_were_made():
    # What a family sees of another's levels, by hand: with all lots alike in size a
    # model of n lots sees 1/n of their variance, a lot all of its model's.
    fleet, families = watched_fleet(np.random.default_rng(2), n_lots=8)
    even = replace(fleet, exposure=np.ones_like(fleet.exposure))
    tables = [family_table(even, families[i]) for i in (1, 3)]
    shares = [
        expected_and_observed(even, families[3]).expected.sum(axis=0),
        expected_and_observed(even, families[3]),
    ]
    by_lot = np.zeros((3, 8))
    by_lot[shares[1].stratum_failure, shares[1].stratum_value] = shares[0]
    u_model, u_lot = 0.03, 0.06
    seen = np.array(
        [
            (by_lot[group, odd::2] ** 2).sum() / by_lot[group, odd::2].sum() ** 2
            for group in range(3)
            for odd in range(2)
        ]
    )
    fits = [
        QuietFleet(
            level_variance=np.asarray(value),
            dispersion=np.asarray(1e-9),  # so that all strata weigh alike
            look_shock=np.asarray(0.0),
            shock_variance=np.asarray(0.01),
            level=np.ones(len(table.strata)),
            shock=np.ones(fleet.n_looks),
        )
        for value, table in zip(
            (u_model + seen.mean() * u_lot, u_model + u_lot), tables, strict=True
        )
    ]

    found = scatter_of(even, tables, fits, [1.0, 1.0])

    assert found.level_variance == pytest.approx([u_model, u_lot], rel=1e-3)
    assert (found.look_shock == 0).all()


def test_where_memory_is_short_fewer_fleets_are_drawn_then_each_family_alone(
    monkeypatch,
):
    fleet, families = watched_fleet(np.random.default_rng(4))
    monkeypatch.setattr(watch_families, "MOST_BYTES", 10_000_000)

    fewer = calibrated(fleet, families, n_draws=240)
    monkeypatch.setattr(watch_families, "MOST_BYTES", 1_000_000)
    alone = calibrated(fleet, families, first_live=12)

    assert (fewer.is_joint, alone.is_joint) == (True, False)
    assert 60 <= fewer.n_draws < 240
    assert all(np.isnan(x[:12]).all() for x in alone.thresholds.values())
    assert all((x[12:] >= 0.5).all() for x in alone.thresholds.values())


@pytest.mark.parametrize("per_look", [0.5, 2.0])
def test_a_fleet_with_dozens_of_failures_can_be_watched(per_look):
    fleet, families = watched_fleet(np.random.default_rng(1), per_look=per_look)

    found = calibrated(fleet, families)

    assert all((x >= 0.5).all() for x in found.thresholds.values())


def test_families_of_one_stratum_or_none_do_not_matter():
    fleet, families = watched_fleet(np.random.default_rng(1))
    one = Family("one", np.zeros(6, dtype=int), np.zeros(fleet.n_kinds, dtype=int))

    found = calibrated(fleet, [one, *families])

    assert (found.thresholds["one"] >= 0.5).all()
    none = np.zeros(0, dtype=np.int64)
    empty = replace(
        fleet, failure_kind=none, failure_look=none, failure_age=none, failure_mode=none
    )
    nothing = calibrated(empty, families)
    assert all(np.isnan(x).all() for x in nothing.thresholds.values())
    assert np.isnan(nothing.times_per_year("lot", 3, 1.0))
    assert nothing.fits["lot"].level.shape == (0,)
    assert nothing.n_draws == 0
    assert calibrated(fleet, []).thresholds == {}


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"per_year": 0}, "above 0"),
        ({"per_year": np.inf}, "above 0"),
        ({"n_draws": 0}, "above 0"),
    ],
)
def test_settings_that_make_no_sense_are_refused(options, words):
    fleet, families = watched_fleet(np.random.default_rng(1))
    with pytest.raises(ValueError, match=words):
        calibrated(fleet, families, **options)


def test_two_families_of_one_name_are_refused():
    fleet, families = watched_fleet(np.random.default_rng(1))
    with pytest.raises(ValueError, match="names of their own"):
        calibrated(fleet, [families[0], families[0]])
