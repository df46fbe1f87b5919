"""Thresholds of the watch are kept while the fleet's shape is the same."""

import datetime as dt

import numpy as np
import pytest

from analytics.rollup import watch_cache
from analytics.rollup.publish import publish
from analytics.rollup.published_files import withdraw
from analytics.rollup.rules import LifeRules
from tests import recurring_fleet
from tests.small_fleet import published

MARCH = dt.date(2025, 3, 31)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    found = tmp_path_factory.mktemp("kept")
    published(found, recurring_fleet.units(), recurring_fleet.cases(), as_of=MARCH)
    return found


@pytest.fixture
def counted(monkeypatch):
    """Return the list of simulations run from here on."""
    runs = []
    simulate = watch_cache.calibrate_families

    def told(*args, **options):
        runs.append(options["per_year"])
        return simulate(*args, **options)

    monkeypatch.setattr(watch_cache, "calibrate_families", told)
    return runs


def again(folder, *, as_of=MARCH, **rules):
    return publish(
        folder / "store.duckdb",
        folder / "published",
        as_of=as_of,
        rules=LifeRules(**rules),
    )


def test_publishing_again_simulates_nothing_and_gives_the_same_figures(folder, counted):
    first = again(folder)
    second = again(folder)
    assert counted == []
    assert first.snapshot == second.snapshot


def test_another_month_or_setting_is_simulated_anew(folder, counted):
    again(folder, as_of=dt.date(2025, 4, 30))
    assert counted == [2.0]
    again(folder, as_of=dt.date(2025, 4, 30), false_alarms_per_year=4)
    assert counted == [2.0, 4.0]
    again(folder, as_of=dt.date(2025, 4, 30))  # one file is kept
    assert counted == [2.0, 4.0, 2.0]


def test_a_month_of_which_more_has_passed_is_simulated_anew(folder, counted):
    again(folder, as_of=dt.date(2025, 5, 12))
    again(folder, as_of=dt.date(2025, 5, 31))
    assert counted == [2.0, 2.0]
    again(folder, as_of=dt.date(2025, 5, 31))
    assert counted == [2.0, 2.0]


def test_what_is_kept_is_what_was_found(folder, monkeypatch):
    found = []
    read = watch_cache.with_counts

    def told(*args):
        found.append(read(*args))
        return found[-1]

    monkeypatch.setattr(watch_cache, "with_counts", told)
    simulated = []
    simulate = watch_cache.calibrate_families
    monkeypatch.setattr(
        watch_cache,
        "calibrate_families",
        lambda *a, **k: simulated.append(simulate(*a, **k)) or simulated[-1],
    )
    withdraw(folder / "published")
    again(folder)
    again(folder)
    (first,), (second,) = simulated, found
    assert first.is_joint == second.is_joint
    assert first.n_draws == second.n_draws
    for name, threshold in first.thresholds.items():
        np.testing.assert_array_equal(threshold, second.thresholds[name])
        assert first.times_per_year(name, 26, 2.0) == second.times_per_year(
            name, 26, 2.0
        )
        np.testing.assert_array_equal(first.fits[name].level, second.fits[name].level)


def test_withdrawing_figures_takes_the_thresholds_along(folder):
    again(folder)
    assert list((folder / "published").glob("watch-*.npz"))
    withdraw(folder / "published")
    assert not list((folder / "published").glob("watch-*"))
