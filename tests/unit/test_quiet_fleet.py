"""The fit of a quiet fleet: borders, and what it refuses."""

import numpy as np
import pytest

from analytics.statistics.quiet_fleet import dispersion_weight, fit_quiet_fleet


def test_without_a_failure_the_fit_is_what_the_search_starts_from():
    fit = fit_quiet_fleet(np.zeros((5, 2)), np.ones((5, 2)))

    assert float(fit.level_variance) == 0.09
    assert float(fit.dispersion) == 1.1
    assert float(fit.look_shock) == 0
    assert float(fit.shock_variance) == 0.01
    assert fit.level.tolist() == [1, 1]
    assert fit.shock.tolist() == [1] * 5


def test_one_of_many_replicates_may_be_without_failures():
    y = np.zeros((6, 2, 3))
    y[:, 1] = 2

    fit = fit_quiet_fleet(y, np.ones((6, 3)))

    assert fit.level_variance.shape == (2,)
    assert fit.level[0].tolist() == [1, 1, 1]
    assert (fit.level[1] > 1).all()


def test_a_single_look_and_stratum_can_be_fitted():
    fit = fit_quiet_fleet([[4]], [[4.0]])

    # No pair of looks: the dispersion is that of the start.
    assert float(fit.dispersion) == pytest.approx(1.1)
    assert fit.level[0] == pytest.approx(1, abs=0.01)
    assert dispersion_weight(np.array([[4.0]]), np.array([[4.0]]), fit) == 0


def test_the_dispersion_weighs_pairs_of_looks():
    fit = fit_quiet_fleet([[1.0], [1.0]], [[1.0], [1.0]])
    # One pair with g = 1/2, weight g / (1 + 2 g) = 1/4, counts over expected 1.
    y = e = np.array([[1.0], [1.0]])

    assert dispersion_weight(y, e, fit) == pytest.approx(0.25, rel=0.01)


@pytest.mark.parametrize(
    ("y", "e", "words"),
    [
        ([1, 2], [1, 2], "looks by strata"),
        (np.zeros((0, 2)), np.zeros((0, 2)), "a look and a stratum"),
        (np.zeros((2, 0)), np.zeros((2, 0)), "a look and a stratum"),
        ([[1, 2]], [[1]], "n_expected must fit"),
        ([[-1.0]], [[1.0]], "n_failures must be finite"),
        ([[np.nan]], [[1.0]], "n_failures must be finite"),
        ([[1.0]], [[np.inf]], "n_expected must be finite"),
        ([[1.0]], [[0.0]], "none is expected"),
    ],
)
def test_counts_that_make_no_sense_are_refused(y, e, words):
    with pytest.raises(ValueError, match=words):
        fit_quiet_fleet(y, e)
