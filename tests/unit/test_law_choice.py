"""Choosing among laws by AICc with n = failures."""

import math

import numpy as np
import pytest

from analytics.statistics.distributions import fit_life
from analytics.statistics.law_choice import choose_law

LAWS = ("weibull", "lognormal", "exponential")


def fits(age, n_failed, n_censored):
    return {law: fit_life(age, n_failed, n_censored, distribution=law) for law in LAWS}


def lives_of(rng, n, shape):
    return 100 * rng.weibull(shape, n), [1] * n, [0] * n


def test_the_criterion_counts_failures_and_not_survivors():
    lives = [10, 20, 30, 40, 60, 60], [1, 1, 1, 1, 1, 0], [0, 0, 0, 0, 0, 10**6]

    choice = choose_law(fits(*lives))

    fit = fit_life(*lives, distribution="weibull")
    assert choice.aicc["weibull"] == pytest.approx(4 - 2 * fit.log_likelihood + 12 / 2)
    assert fit.aicc < choice.aicc["weibull"] - 5.9
    fit = fit_life(*lives, distribution="exponential")
    assert choice.aicc["exponential"] == pytest.approx(
        2 - 2 * fit.log_likelihood + 4 / 3
    )


def test_many_failures_tell_the_law_they_come_from():
    lives = lives_of(np.random.default_rng(1), 2000, 3)

    choice = choose_law(fits(*lives))

    assert choice.best == "weibull"
    assert choice.tied == ("weibull",)
    assert list(choice.aicc) == list(LAWS)


def test_laws_within_two_of_the_best_are_tied_best_first():
    lives = lives_of(np.random.default_rng(2), 12, 1.0)

    choice = choose_law(fits(*lives))

    least = min(choice.aicc.values())
    near = {name for name, value in choice.aicc.items() if value - least < 2}
    assert len(near) > 1
    assert set(choice.tied) == near
    assert choice.tied[0] == choice.best
    assert [choice.aicc[name] for name in choice.tied] == sorted(
        choice.aicc[name] for name in near
    )


def test_the_correction_decides_against_a_second_parameter_on_few_failures():
    # 4 failures: it costs 2 + 12 - 2 = 12 more, whatever little it gains.
    choice = choose_law(fits(*lives_of(np.random.default_rng(3), 4, 1.5)))

    assert choice.tied == ("exponential",)


def test_three_failures_do_not_tell_laws_apart():
    choice = choose_law(fits([10, 20, 50], [1, 1, 1], [0, 0, 400]))

    assert choice.best is None
    assert choice.tied == LAWS
    assert math.isnan(choice.aicc["weibull"])
    assert math.isfinite(choice.aicc["exponential"])


def test_one_law_is_chosen_from_itself():
    fit = fits([10, 20, 50, 60], [1, 1, 1, 1], [0, 0, 0, 4])["weibull"]

    assert choose_law({"only": fit}).tied == ("only",)


def test_fits_of_different_counts_cannot_be_compared():
    one = fits([10, 20, 50], [1, 1, 1], [0, 0, 400])
    other = fits([10, 20, 50], [1, 1, 1], [0, 0, 401])

    with pytest.raises(ValueError, match=r"different counts .*403.*404"):
        choose_law({"weibull": one["weibull"], "lognormal": other["lognormal"]})
    with pytest.raises(ValueError, match="no fit"):
        choose_law({})
