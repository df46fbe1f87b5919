"""A short form of `python -m tests.truth watch`, and the fleets it is run on.

The first fleets of the long study with seed 1. False alarms over those stated must lie
within four standard errors of 0.9 to 1.1 (`Line.is_possible`); the long study, with its
tables in DEVELOPERS.md, asks for two.
"""

from dataclasses import replace

import numpy as np
import pytest

from tests.truth import watch_overlap, watch_rates, watch_study
from tests.truth.study import Line, run, table
from tests.truth.watch_detection import found_within
from tests.truth.watch_fleets import PLANS, SCENARIOS, draw_quiet, plan_of
from tests.truth.watch_overlap import OverlapPlan, draw_overlapping, families
from tests.truth.watch_rates import RATIO

N_FLEETS = {
    "50 x 24, a": 30,
    "50 x 24, d": 20,
    "50 x 24, e": 30,
    "500 x 60, a": 4,
    "500 x 60, d": 4,
    "500 x 60, e": 4,
    "look by look, d": 2,
    "five families, e": 3,
}


def measured(scene: str, n_fleets: int) -> dict[str, Line]:
    lines = run(watch_study.STUDY, fleets=n_fleets, seed=1, cores=1, only=[scene])
    return {line.method: line for line in lines}


@pytest.mark.parametrize("scene", N_FLEETS)
def test_false_alarms_come_about_as_often_as_stated(scene):
    line = measured(scene, N_FLEETS[scene])[RATIO]

    assert line.is_possible, table([line])


def test_a_threshold_a_third_too_low_is_found_out(monkeypatch):
    right = watch_rates.calibrate

    def too_low(*args, **options):
        found = right(*args, **options)
        return replace(found, threshold=found.threshold * 2 / 3)

    monkeypatch.setattr(watch_rates, "calibrate", too_low)

    assert not measured("50 x 24, d", 30)[RATIO].is_possible


def test_a_rate_that_trebles_where_failures_are_many_is_told_within_half_a_year():
    found = measured("step, d, 4 a year", 3)

    assert found[found_within(3, 10, 6)].mean > 0.6
    assert found[found_within(2, 0.1, 6)].mean <= 0.4


def test_every_scene_has_words_for_the_page(tmp_path):
    names = [s.name for s in watch_study.scenes() if s.family != "detection"]
    line = measured("50 x 24, a", 2)[RATIO]

    watch_study.write_csv([replace(line, scene=name) for name in names], tmp_path / "x")

    header, *rows = (tmp_path / "x").read_text("utf-8").splitlines()
    assert header == "scene,words,ratio,standard_error,fleets,command"
    assert len(rows) == len(set(rows)) == len(names)


def test_the_tables_hold_ratios_and_detection():
    lines = list(measured("50 x 24, a", 4).values())
    lines += measured("step, d, 4 a year", 1).values()

    shown = watch_study.grids(lines)

    ratio = f"{lines[0].mean:.2f} ±{lines[0].standard_error:.2f}"
    assert any(
        row.startswith("| 50 x 24 |") and ratio in row for row in shown.split("\n")
    )
    assert "| step, d, 4 a year | " in shown


# The fleets: moments of the gamma and Poisson laws they are drawn from.


def test_clusters_and_shocks_have_the_variance_they_are_named_for():
    rng = np.random.default_rng(1)
    steady = np.full((60, 500), 3.0)

    alone = draw_quiet(plan_of("500 x 60", "a"), rng, exposure=steady).n_failures
    clusters = draw_quiet(plan_of("500 x 60", "c1"), rng, exposure=steady).n_failures
    levels = draw_quiet(plan_of("500 x 60", "b"), rng, exposure=steady).n_failures
    shocks = draw_quiet(plan_of("500 x 60", "c2"), rng, exposure=steady).n_failures

    # 30 000 counts: the standard error of a variance of 3 is 0.027, of 4.5 0.04.
    assert alone.var() == pytest.approx(3, abs=0.11)
    assert clusters.var() == pytest.approx(4.5, abs=0.16)
    # Means of 60 counts vary by 3 / 60 and 0.3^2 x 3^2; 500 of them: 6 % each.
    assert levels.mean(axis=0).var() == pytest.approx(0.05 + 0.81, rel=0.3)
    # Means of 500 counts vary by 3 / 500 and 0.2^2 x 3^2; 60 of them: 18 % each.
    assert shocks.mean(axis=1).var() == pytest.approx(0.006 + 0.36, rel=0.75)


def test_half_of_the_strata_start_later_and_all_have_a_year():
    drawn = draw_quiet(PLANS["500 x 60"], np.random.default_rng(2))

    is_there = drawn.exposure > 0
    n_late = int((~is_there[0]).sum())
    assert 200 < n_late < 300
    assert is_there[-12:].all()
    rates = drawn.exposure[-1]
    assert 0.02 <= rates.min() < 0.04
    assert 10 < rates.max() <= 20


def test_expected_numbers_from_the_fleet_itself_add_up_to_its_failures():
    plan = replace(PLANS["500 x 60"], **SCENARIOS["e"])
    drawn = draw_quiet(plan, np.random.default_rng(3))

    for n_looks in (13, 60):
        expected = drawn.n_expected(n_looks)
        failures = drawn.n_failures[:n_looks]
        for mode in range(10):  # in each mode too
            mine = np.arange(500) % 10 == mode
            assert expected[:, mine].sum() == pytest.approx(failures[:, mine].sum())
    twice = np.stack([drawn.n_failures, 2 * drawn.n_failures], axis=1)
    rebuilt = drawn.rebuilt(twice)
    np.testing.assert_allclose(rebuilt[:, 1], 2 * drawn.n_expected())


def test_overlapping_families_partition_the_same_failures():
    plan = OverlapPlan(level_cv=0.3, dispersion=1.5, shock_cv=0.2)

    fleet = draw_overlapping(plan, np.random.default_rng(4))

    exposed = set(zip(fleet.kind, fleet.look, fleet.age, strict=True))
    failed = zip(fleet.failure_kind, fleet.failure_look, fleet.failure_age, strict=True)
    assert set(failed) <= exposed
    n_strata = [
        (family.failure_of_mode.max() + 1) * (family.value_of_kind.max() + 1)
        for family in families()
    ]
    assert n_strata == [8, 30, 120, 200, 300]
    monthly = len(fleet.failure_look) / fleet.n_looks
    assert 40 < monthly < 280


def test_clusters_of_overlapping_families_are_negative_binomial():
    rng = np.random.default_rng(5)
    mean = np.full((30_000, 1), 0.8)

    row, _ = watch_overlap.draw_failures(mean, 1.5, rng)

    counts = np.bincount(row, minlength=30_000)
    assert counts.mean() == pytest.approx(0.8, abs=0.025)
    assert counts.var() == pytest.approx(1.2, abs=0.06)
