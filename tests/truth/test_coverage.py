"""A short form of `python -m tests.truth coverage`, and the frame it runs in.

Two hundred fleets a scene, the first of the long study with seed 1. Where theory
promises a rate, the number of fleets must lie between the points of the binomial laws
with 94 and with 96 % that one sample in 100 000 passes (`Line.is_possible`): of 200,
from 171 to 200; of tests at 5 %, up to 29. What is not promised is only stated, by the
long study in DEVELOPERS.md.
"""

import numpy as np
import pytest
from scipy import stats

from tests.truth import coverage
from tests.truth.fleets import Plan, counted, dated, draw
from tests.truth.study import (
    COVERS,
    Line,
    Outcome,
    Promise,
    Scene,
    Study,
    grids,
    run,
    table,
)

N_FLEETS = 200
SEED = 1


@pytest.mark.parametrize("scene", [scene.name for scene in coverage.scenes()])
def test_intervals_hold_the_truth_as_often_as_theory_promises(scene):
    lines = run(coverage.STUDY, fleets=N_FLEETS, seed=SEED, cores=1, only=[scene])

    impossible = [line for line in lines if line.promise and not line.is_possible]
    assert impossible == [], table(lines)


def test_every_promise_names_a_method_that_is_measured():
    for scene in coverage.scenes():
        measured = scene.fleet(np.random.default_rng(1)).values
        assert set(scene.promised) <= set(measured)


def line(mean, *, n=10_000, answered=10_000, error=0.002, promise=COVERS):
    return Line("m", "s", "f", 10.0, n, answered, mean, error, promise)


@pytest.mark.parametrize(
    ("found", "verdict"),
    [
        (line(0.95), "holds"),
        (line(0.9365), "holds"),  # 94 % less two standard errors is 93.6 %
        (line(0.9355), "MISSES"),
        (line(0.9645), "MISSES"),
        (line(0.95, answered=9_800), "MISSES"),
        (line(0.5, promise=None), "stated"),
    ],
)
def test_a_verdict_allows_for_two_standard_errors(found, verdict):
    assert found.verdict == verdict


@pytest.mark.parametrize(("count", "possible"), [(170, False), (171, True)])
def test_the_bound_of_two_hundred_fleets_is_that_of_the_binomial_law(count, possible):
    assert stats.binom.cdf(170, 200, 0.94) < 1e-5 < stats.binom.cdf(171, 200, 0.94)
    assert line(count / 200, n=200, answered=200).is_possible is possible


def coin(rng, chance):
    values = {"coin": float(rng.random() < chance), "mute": float("nan")}
    return Outcome(int(rng.integers(10)), values)


COINS = (
    Scene("good", "coins", lambda rng: coin(rng, 0.95), {"coin": COVERS}),
    Scene("bad", "coins", lambda rng: coin(rng, 0.80), {"coin": COVERS}, 150),
)


def coins():
    return COINS


def test_an_error_is_held_against_its_own_spread():
    promise = Promise(-0.01, 0.01, is_rate=False)

    assert line(0.018, error=0.002, promise=promise).is_possible
    assert not line(0.0181, error=0.002, promise=promise).is_possible


def test_a_study_tells_a_good_method_from_a_bad_one_and_counts_the_unanswered():
    lines = run(Study("coins", "", coins), fleets=1000, seed=3, cores=1)

    found = {(x.scene, x.method): x for x in lines}
    assert found["good", "coin"].verdict == "holds"
    assert found["bad", "coin"].verdict == "MISSES"
    assert not found["bad", "coin"].is_possible
    assert found["bad", "coin"].n_fleets == 150
    assert found["good", "mute"].n_answered == 0
    assert "| coin | **9" in grids(lines)


def test_the_same_seed_gives_the_same_table_on_any_number_of_cores():
    study = Study("coins", "", coins)

    alone, both = (table(run(study, fleets=250, seed=5, cores=n)) for n in (1, 2))

    assert alone == both
    assert alone != table(run(study, fleets=250, seed=6, cores=1))


def test_dates_measure_a_life_right_on_average():
    rng = np.random.default_rng(2)

    ages = dated(np.full(40_000, 100.3), rng)

    # 101 days with a chance of 0.3: four standard errors of the share are 0.0092.
    assert set(ages) == {100.0, 101.0}
    assert abs((ages == 101).mean() - 0.3) < 0.0092


def test_a_fleet_leaves_out_units_that_failed_before_they_were_registered():
    plan = Plan(stats.expon(scale=200), 4000, late_share=0.5)

    fleet = draw(plan, np.random.default_rng(4))

    assert fleet.n_entered.sum() == fleet.n_failed.sum() + fleet.n_censored.sum() < 4000
    everyone = fleet.entry_age == 0
    assert fleet.n_entered[everyone].sum() > fleet.n_entered[~everyone].sum() > 0


def test_units_are_counted_at_their_ages_by_column():
    fleet = counted(np.array([5.0, 2, 5, 5]), np.array([0, 1, -1, 0]), n_columns=2)

    assert fleet.age.tolist() == [2, 5]
    assert fleet.n_failed.tolist() == [[0, 1], [2, 0]]
    assert fleet.n_censored.tolist() == [[0], [1]]
