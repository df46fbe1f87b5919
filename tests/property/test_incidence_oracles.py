"""Incidence by mode against two libraries, on random lives with fixed seeds.

scikit-survival takes ties, and gives Aalen's variance within its limits, with tie
factors of its own (ours are checked in tests/published); lifelines takes delayed entry,
but no ties.
"""

from fractions import Fraction

import lifelines
import numpy as np
import pytest
from sksurv.nonparametric import cumulative_incidence_competing_risks

from analytics.statistics.competing_risks import cumulative_incidence
from analytics.statistics.life import kaplan_meier

SEEDS = range(12)
Z = 1.959963984540054


def lives(seed, *, n_ages=None):
    """Draw ages and modes (0 = working), of two to four modes; all of them occur."""
    rng = np.random.default_rng(seed)
    n_modes, n = int(rng.integers(2, 5)), int(rng.integers(30, 400))
    mode = np.append(rng.integers(0, n_modes + 1, n), np.arange(n_modes + 1))
    age = 100 * rng.weibull(1.5, len(mode)) + 0.5
    if n_ages is not None:
        age = np.ceil(age / age.max() * n_ages)
    return age, mode, mode[:, None] == np.arange(1, n_modes + 1)


@pytest.mark.parametrize("n_ages", [None, 6, 40])
@pytest.mark.parametrize("seed", SEEDS)
def test_incidence_agrees_with_scikit_survival(seed, n_ages):
    age, mode, by_mode = lives(seed, n_ages=n_ages)

    ours = cumulative_incidence(age, by_mode, mode == 0)
    theirs_age, incidence = cumulative_incidence_competing_risks(mode, age)

    found = ours.incidence.T
    assert theirs_age == pytest.approx(ours.age)
    assert found == pytest.approx(incidence[1:], rel=1e-6, abs=1e-12)
    assert 1 - ours.survival == pytest.approx(incidence[0], rel=1e-6, abs=1e-12)


@pytest.mark.parametrize("seed", SEEDS)
def test_variance_without_ties_agrees_with_scikit_survival(seed):
    age, mode, by_mode = lives(seed)

    ours = cumulative_incidence(age, by_mode, mode == 0)
    _, incidence, limits = cumulative_incidence_competing_risks(
        mode, age, conf_type="log-log", var_type="Aalen"
    )

    # They leave out the failure of the last unit of all. Their limits are symmetric in
    # ln(-ln F), ours in ln(-ln(1 - F)): the standard error is read back from them.
    known = (ours.n_at_risk > 1) & (ours.incidence.T > 0)
    log = np.log(incidence[1:][known])
    width = np.log(np.log(limits[1:, 0][known]) / log)
    assert known.sum() > len(age)
    assert ours.standard_error.T[known] == pytest.approx(
        width * np.exp(log) * -log / Z, rel=1e-6
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_delayed_entry_agrees_with_lifelines(seed):
    age, mode, by_mode = lives(seed)
    rng = np.random.default_rng(1000 + seed)
    entry = np.where(rng.random(len(age)) < 0.5, 0, age * rng.random(len(age)))

    ours = cumulative_incidence(age, by_mode, mode == 0, entry_age=entry)

    for column in range(by_mode.shape[1]):
        fitter = lifelines.AalenJohansenFitter(calculate_variance=False)
        fitter.fit(age, mode, column + 1, entry=entry)
        theirs = fitter.cumulative_density_.iloc[:, 0]
        at = np.searchsorted(theirs.index, ours.age, side="right") - 1
        assert ours.incidence[:, column] == pytest.approx(
            theirs.to_numpy()[at], rel=1e-6, abs=1e-12
        )


@pytest.mark.parametrize("seed", SEEDS)
def test_incidences_add_up_to_the_curve_of_lifelines(seed):
    age, mode, by_mode = lives(seed, n_ages=25)

    ours = cumulative_incidence(age, by_mode, mode == 0)
    theirs = lifelines.KaplanMeierFitter().fit(age, mode > 0)

    left = theirs.survival_function_at_times(ours.age).to_numpy()
    assert 1 - ours.incidence.sum(axis=1) == pytest.approx(left, rel=1e-6, abs=1e-12)
    assert kaplan_meier(age, mode > 0, mode == 0).survival == pytest.approx(
        left, rel=1e-6, abs=1e-12
    )


def exact_error(failed, n_working, place):
    """Return the root of Aalen's variance of mode 0 at one age, summed in fractions."""
    n, survival, rows, incidence = int(failed.sum()) + n_working, Fraction(1), [], 0
    for row in failed[: place + 1].tolist():
        before, survival = survival, survival * (n - sum(row)) / n
        incidence += before * Fraction(row[0], n)
        rows.append((row, before / n, survival, n, incidence))
        n -= sum(row)
    total = Fraction(0)
    for row, weight, left, n, reached in rows:
        come = (incidence - reached) / left if left else 0
        for d, move in ((row[0], 1 - come), (sum(row[1:]), come)):
            tied = Fraction(n - d, n - 1) if d > 1 else 1
            total += (weight * move) ** 2 * d * tied
    return float(total) ** 0.5


@pytest.mark.parametrize("n_working", [0, 1])
def test_errors_keep_their_digits_where_all_but_a_few_of_millions_have_failed(
    n_working,
):
    half = 2 ** np.arange(23, -1, -1)
    for others in (np.ones(24, int), np.arange(24) == 0, np.arange(24) == 22):
        failed = np.stack([half, others.astype(int)], axis=1)

        result = cumulative_incidence(
            np.arange(24), failed, np.append(np.zeros(23), n_working)
        )

        for place in (0, 11, 22, 23):
            assert result.standard_error[place, 0] == pytest.approx(
                exact_error(failed, n_working, place), rel=1e-9
            )
