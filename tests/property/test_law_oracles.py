"""Fits and limits against other libraries on random lives of every kind of censoring.

lifelines is asked twice, the second time from where it stopped, with the tightest
options of its search: its own stopping rule leaves an error of 1e-4. SciPy's densities
and distribution functions give the log-likelihood of any law; where it is highest, how
it bends there, and how high a profile is, is worked out from those values alone.
"""

import lifelines
import numpy as np
import pytest
from scipy import optimize, stats

from analytics.statistics.distributions import fit_life

LAWS = ["weibull", "lognormal", "exponential"]
SEEDS = [1, 2, 3]
TIGHT = {"ftol": 1e-16, "gtol": 1e-10, "maxiter": 2000, "maxls": 50}
FITTERS = {
    # Names in our order, and in that of its start.
    "weibull": (lifelines.WeibullFitter, ["rho_", "lambda_"], ["lambda_", "rho_"]),
    "lognormal": (lifelines.LogNormalFitter, ["mu_", "sigma_"], ["mu_", "sigma_"]),
    "exponential": (lifelines.ExponentialFitter, ["lambda_"], ["lambda_"]),
}


def random_lives(seed, distribution, *, late):
    """Return lower, upper and entry age; equal bounds: failed then, inf: working."""
    rng = np.random.default_rng(seed)
    if distribution == "lognormal":
        age = 100 * np.exp(0.8 * rng.standard_normal(300))
    else:
        age = 100 * rng.weibull(1.6 if distribution == "weibull" else 1, 300)
    entry = np.where(rng.random(300) < 0.5, 40 * rng.random(300), 0) * late
    age, entry = age[age > entry], entry[age > entry]
    kind = rng.integers(0, 4, len(age))
    lower, upper = age.copy(), age.copy()
    stop = entry + 1 + 150 * rng.random(len(age))
    working = (kind == 1) & (stop < age)
    lower[working], upper[working] = stop[working], np.inf
    inspected = kind == 2
    begin = 25 * np.floor(age[inspected] / 25)
    lower[inspected] = np.maximum(begin, entry[inspected])
    upper[inspected] = begin + 25
    by_then = (kind == 3) & (entry == 0)
    lower[by_then], upper[by_then] = 0, 1.5 * age[by_then]
    return lower, upper, entry


def fitted(lower, upper, entry, distribution):
    between = (lower != upper) & np.isfinite(upper)
    age, is_failed = lower[~between], (lower == upper)[~between]
    late = {"entry_age": entry} if entry.any() else {}
    return fit_life(
        age, is_failed, ~is_failed, distribution=distribution, lower=lower[between],
        upper=upper[between], **late,
    )  # fmt: skip


def law_of(distribution, parameters):
    if distribution == "lognormal":
        return stats.lognorm(parameters[1], scale=np.exp(parameters[0]))
    if distribution == "weibull":
        return stats.weibull_min(parameters[0], scale=parameters[1])
    return stats.expon(scale=parameters[0])


def log_likelihood(law, lower, upper, entry):
    exact, working = lower == upper, np.isinf(upper)
    between = ~exact & ~working
    share = law.cdf(upper[between]) - law.cdf(lower[between])
    return (
        law.logpdf(lower[exact]).sum()
        + law.logsf(lower[working]).sum()
        + np.log(np.maximum(share, 1e-300)).sum()
        - law.logsf(entry[entry > 0]).sum()
    )


@pytest.mark.parametrize("late", [False, True])
@pytest.mark.parametrize("distribution", LAWS)
@pytest.mark.parametrize("seed", SEEDS)
def test_fits_agree_with_lifelines_to_a_millionth(seed, distribution, late):
    lower, upper, entry = random_lives(seed, distribution, late=late)

    fit = fitted(lower, upper, entry, distribution)

    fitter, names, start = FITTERS[distribution]
    other = fitter()
    options = {"fit_options": TIGHT} | ({"entry": entry} if late else {})
    other.fit_interval_censoring(lower, upper, **options)
    end = np.array([getattr(other, name) for name in start])
    other.fit_interval_censoring(lower, upper, initial_point=end, **options)
    assert list(fit.parameters.values()) == pytest.approx(
        [getattr(other, name) for name in names], rel=1e-6
    )
    variances = [other.variance_matrix_.loc[name, name] for name in names]
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(
        np.sqrt(variances), rel=1e-6
    )
    assert fit.log_likelihood == pytest.approx(other.log_likelihood_, rel=1e-9)


@pytest.mark.parametrize("late", [False, True])
@pytest.mark.parametrize("distribution", LAWS)
@pytest.mark.parametrize("seed", SEEDS)
def test_fits_agree_with_the_densities_of_scipy_to_a_millionth(
    seed, distribution, late
):
    lower, upper, entry = random_lives(seed + 100, distribution, late=late)

    fit = fitted(lower, upper, entry, distribution)

    best = np.array(list(fit.parameters.values()))
    errors = np.sqrt(np.diag(fit.covariance))

    def value(steps):
        law = law_of(distribution, best + errors * steps)
        return log_likelihood(law, lower, upper, entry)

    assert fit.log_likelihood == pytest.approx(value(0 * best), rel=1e-12)
    slope, bend = derivatives(value, len(best))
    # A Newton step from our estimate, in standard errors, would be that long.
    assert np.abs(np.linalg.solve(bend, slope)).max() < 1e-6
    covariance = np.linalg.inv(-bend) * np.outer(errors, errors)
    assert fit.covariance == pytest.approx(covariance, rel=1e-6)


def derivatives(value, n):
    """Return gradient and Hessian at 0 by differences of the fourth order."""
    step, axes = 0.05, np.eye(n)
    terms = [(-2, 1 / 12), (-1, -2 / 3), (1, 2 / 3), (2, -1 / 12)]

    def slope_at(place, axis):
        return sum(w * value(place + p * step * axis) for p, w in terms) / step

    def bend_along(a, b):
        return sum(w * slope_at(p * step * a, b) for p, w in terms) / step

    slope = np.array([slope_at(0 * axis, axis) for axis in axes])
    return slope, np.array([[bend_along(a, b) for b in axes] for a in axes])


@pytest.mark.parametrize("late", [False, True])
@pytest.mark.parametrize("distribution", ["weibull", "lognormal"])
@pytest.mark.parametrize("seed", SEEDS)
def test_likelihood_limits_lie_on_profiles_by_scipy(seed, distribution, late):
    lives = (v[:25] for v in random_lives(seed + 200, distribution, late=late))
    lower, upper, entry = lives
    fit = fitted(lower, upper, entry, distribution)
    name = "sigma" if distribution == "lognormal" else "shape"

    def with_fraction(age, fraction):
        """Return the laws by the logarithm of shape or sigma."""

        def law(free):
            if distribution == "lognormal":
                mu = np.log(age) - stats.norm.ppf(fraction) * np.exp(free)
                return law_of(distribution, [mu, np.exp(free)])
            scale = age / (-np.log1p(-fraction)) ** np.exp(-free)
            return law_of(distribution, [np.exp(free), scale])

        return law, np.log(fit.parameters[name]), 1.5

    def with_shape(limit):
        """Return the laws by the logarithm of scale, or by mu."""
        if distribution == "lognormal":
            return lambda mu: law_of(distribution, [mu, limit]), fit.parameters["mu"], 2
        centre = np.log(fit.parameters["scale"])
        return lambda log: law_of(distribution, [limit, np.exp(log)]), centre, 2

    lines = [with_shape(v) for v in fit.parameter_interval(name, method="likelihood")]
    for p in (0.01, 0.5):
        ages = fit.quantile_interval(p, method="likelihood")
        lines += [with_fraction(age, p) for age in ages]
    for age in (20, 300):
        shares = fit.failed_fraction_interval(age, method="likelihood")
        lines += [with_fraction(age, share) for share in shares]
    for law, centre, reach in lines:
        top = optimize.minimize_scalar(
            lambda free, law=law: -log_likelihood(law(free), lower, upper, entry),
            bounds=(centre - reach, centre + reach), method="bounded",
            options={"xatol": 1e-9},
        )  # fmt: skip
        drop = 2 * (fit.log_likelihood + top.fun)
        assert drop == pytest.approx(stats.chi2.ppf(0.95, 1), rel=1e-6)
