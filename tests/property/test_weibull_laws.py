"""What holds for every fitted life distribution."""

import numpy as np
import pytest
from hypothesis import assume, given, reject, settings
from hypothesis import strategies as st
from scipy import stats

from analytics.errors import InsufficientDataError
from analytics.statistics.distributions import fit_life, weibull_assumed_shape

FEW = settings(max_examples=40, deadline=None)
TWO_PARAMETERS = st.sampled_from(["weibull", "lognormal"])
ANY = st.sampled_from(["weibull", "lognormal", "exponential"])


@st.composite
def life_counts(draw):
    """Draw (age, failed, censored) with failures at two distinct ages at least."""
    ages = draw(st.lists(st.integers(1, 2000), min_size=2, max_size=15, unique=True))
    count = st.integers(0, 20)
    failed = [draw(count) for _ in ages]
    censored = [draw(count) for _ in ages]
    failed[:2] = [failed[0] + 1, failed[1] + 1]
    return np.array(ages, float), np.array(failed), np.array(censored)


def density_and_survival(fit):
    if fit.distribution == "lognormal":
        law = stats.lognorm(fit.parameters["sigma"], scale=np.exp(fit.parameters["mu"]))
    else:
        law = stats.weibull_min(
            fit.parameters.get("shape", 1), scale=fit.parameters["scale"]
        )
    return law


@FEW
@given(life_counts(), ANY, st.floats(1e-6, 1e6))
def test_changing_the_unit_of_age_changes_only_the_scale(counts, distribution, factor):
    ages, failed, censored = counts

    one = fit_life(ages, failed, censored, distribution=distribution)
    other = fit_life(ages * factor, failed, censored, distribution=distribution)

    for p in (0.1, 0.5, 0.9):
        assert other.quantile(p) == pytest.approx(one.quantile(p) * factor, rel=1e-7)
        assert other.quantile_interval(p) == pytest.approx(
            np.multiply(one.quantile_interval(p), factor), rel=1e-6
        )
    assert other.log_likelihood == pytest.approx(
        one.log_likelihood - failed.sum() * np.log(factor), rel=1e-9, abs=1e-6
    )


@FEW
@given(life_counts(), ANY)
def test_doubling_all_counts_halves_the_covariance(counts, distribution):
    ages, failed, censored = counts

    one = fit_life(ages, failed, censored, distribution=distribution)
    two = fit_life(ages, 2 * failed, 2 * censored, distribution=distribution)

    assert two.parameters == pytest.approx(one.parameters, rel=1e-7)
    assert two.covariance == pytest.approx(one.covariance / 2, rel=1e-5)
    assert two.log_likelihood == pytest.approx(2 * one.log_likelihood)


@FEW
@given(life_counts(), ANY, st.randoms(use_true_random=False))
def test_units_in_any_order_give_the_fit_of_their_counts(counts, distribution, random):
    ages, failed, censored = counts
    rows = [(age, 1) for age, n in zip(ages, failed, strict=True) for _ in range(n)]
    rows += [(age, 0) for age, n in zip(ages, censored, strict=True) for _ in range(n)]
    random.shuffle(rows)
    age, has_failed = np.array(rows).T

    grouped = fit_life(ages, failed, censored, distribution=distribution)
    by_unit = fit_life(age, has_failed, 1 - has_failed, distribution=distribution)

    assert by_unit.parameters == pytest.approx(grouped.parameters, rel=1e-7)
    assert (by_unit.n_failed, by_unit.n_units) == (grouped.n_failed, grouped.n_units)
    assert by_unit.aicc == pytest.approx(grouped.aicc, nan_ok=True)


@FEW
@given(life_counts(), ANY)
def test_the_estimate_is_a_maximum_of_the_likelihood_of_densities(counts, distribution):
    ages, failed, censored = counts
    fit = fit_life(ages, failed, censored, distribution=distribution)
    names = list(fit.parameters)

    def value(parameters):
        if distribution == "lognormal":
            law = stats.lognorm(parameters[1], scale=np.exp(parameters[0]))
        elif distribution == "weibull":
            law = stats.weibull_min(parameters[0], scale=parameters[1])
        else:
            law = stats.expon(scale=parameters[0])
        return failed @ law.logpdf(ages) + censored @ law.logsf(ages)

    best = [fit.parameters[name] for name in names]
    assert fit.log_likelihood == pytest.approx(value(best), rel=1e-9, abs=1e-7)
    for i, error in enumerate(np.sqrt(np.diag(fit.covariance))):
        for step in (-0.01, 0.01):
            near = list(best)
            near[i] += step * error
            assert value(near) <= value(best) + 1e-9 * abs(value(best))


@FEW
@given(life_counts(), TWO_PARAMETERS)
def test_likelihood_limits_lie_on_the_level_of_the_profile(counts, distribution):
    ages, failed, censored = counts
    fit = fit_life(ages, failed, censored, distribution=distribution)

    low, high = fit.quantile_interval(0.2, method="likelihood")

    assert low < fit.quantile(0.2) < high
    # The profile on a grid of shapes: each law has its 20 % age at the limit.
    grid = np.exp(np.linspace(-5, 5, 8001))[:, None]
    for limit in (low, high):
        with np.errstate(all="ignore"):
            if distribution == "weibull":
                shapes = fit.parameters["shape"] * grid
                scales = limit / (-np.log(0.8)) ** (1 / shapes)
                law = stats.weibull_min(shapes, scale=scales)
            else:
                sigmas = fit.parameters["sigma"] * grid
                scales = limit * np.exp(-stats.norm.ppf(0.2) * sigmas)
                law = stats.lognorm(sigmas, scale=scales)
            values = np.where(failed, failed * law.logpdf(ages), 0).sum(axis=1)
            values += np.where(censored, censored * law.logsf(ages), 0).sum(axis=1)
        drop = 2 * (fit.log_likelihood - np.nanmax(values))
        assert drop == pytest.approx(stats.chi2.ppf(0.95, 1), abs=5e-3)


@FEW
@given(life_counts(), ANY)
def test_quantile_undoes_failed_fraction(counts, distribution):
    fit = fit_life(*counts, distribution=distribution)
    shares = np.array([[0.001, 0.1], [0.5, 0.99]])

    assert fit.failed_fraction(fit.quantile(shares)) == pytest.approx(shares, rel=1e-9)
    assert fit.survival(fit.quantile(shares)) == pytest.approx(1 - shares, rel=1e-9)
    law = density_and_survival(fit)
    assert fit.quantile(shares) == pytest.approx(law.ppf(shares), rel=1e-7)


@FEW
@given(life_counts(), ANY)
def test_entries_at_age_0_change_nothing(counts, distribution):
    n = int(counts[1].sum() + counts[2].sum())

    plain = fit_life(*counts, distribution=distribution)
    entered = fit_life(*counts, distribution=distribution, entry_age=[0], n_entered=[n])

    assert entered.parameters == plain.parameters
    assert entered.log_likelihood == plain.log_likelihood


@FEW
@given(life_counts(), ANY, st.sampled_from([1e-4, 1e-7]))
def test_a_narrow_interval_is_a_density(counts, distribution, share):
    ages, failed, censored = counts
    width = ages * share

    exact = fit_life(ages, failed, censored, distribution=distribution)
    narrow = fit_life(
        ages, 0 * failed, censored, distribution=distribution,
        lower=ages - width / 2, upper=ages + width / 2, n_interval=failed,
    )  # fmt: skip

    spread = np.sqrt(np.diag(exact.covariance))
    for name, error in zip(exact.parameters, spread, strict=True):
        difference = narrow.parameters[name] - exact.parameters[name]
        assert abs(difference) < 1e-2 * error + 1e-6 * abs(exact.parameters[name])


@FEW
@given(life_counts(), ANY, st.data())
def test_split_merged_or_shuffled_rows_are_the_same_lives(counts, distribution, data):
    ages, failed, censored = counts
    lives = {"age": ages, "n_failed": failed, "n_censored": censored}
    between = {"lower": ages / 2, "upper": ages, "n_interval": failed}
    entered = {"entry_age": ages / 4, "n_entered": 2 * failed + censored}
    try:
        whole = fit_life(**lives, **between, **entered, distribution=distribution)
    except InsufficientDataError:
        reject()

    def in_two_parts(rows):
        """Return each row as two that add up to it, in any order."""
        order = data.draw(st.permutations(range(2 * len(ages))))
        parts = {name: np.tile(rows[name], 2) for name in rows}
        for name in rows:
            if name.startswith("n_"):
                part = rows[name] // 3
                parts[name] = np.concatenate([part, rows[name] - part])
        return {name: part[order] for name, part in parts.items()}

    split = fit_life(
        **in_two_parts(lives), **in_two_parts(between), **in_two_parts(entered),
        distribution=distribution,
    )  # fmt: skip

    assert split.parameters == pytest.approx(whole.parameters, rel=1e-7)
    assert split.covariance == pytest.approx(whole.covariance, rel=1e-5)
    for method in ("wald", "likelihood"):
        limits = whole.quantile_interval(0.1, method=method)
        if 1e-9 < limits[0] < limits[1] < 1e9:
            again = split.quantile_interval(0.1, method=method)
            assert again == pytest.approx(limits, rel=1e-6)
    assert split.log_likelihood == pytest.approx(whole.log_likelihood, rel=1e-9)
    assert (split.n_failed, split.n_units) == (whole.n_failed, whole.n_units)


@FEW
@given(life_counts(), st.booleans())
def test_an_exponential_law_is_a_weibull_law_of_shape_1(counts, late):
    ages, failed, censored = counts
    entries = {"entry_age": ages / 3, "n_entered": failed + censored} if late else {}

    exponential = fit_life(*counts, distribution="exponential", **entries)
    assumed = weibull_assumed_shape(*counts, shape=1, **entries)

    scale = exponential.parameters["scale"]
    assert scale == pytest.approx(assumed.scale, rel=1e-9)
    law = stats.weibull_min(1, scale=scale)
    value = failed @ law.logpdf(ages) + censored @ law.logsf(ages)
    value -= late * ((failed + censored) @ law.logsf(ages / 3))
    assert exponential.log_likelihood == pytest.approx(value, rel=1e-9)


@FEW
@given(life_counts())
def test_a_free_shape_is_at_least_as_likely_as_a_shape_of_1(counts):
    exponential = fit_life(*counts, distribution="exponential")
    weibull = fit_life(*counts, distribution="weibull")

    gain = 2 * (weibull.log_likelihood - exponential.log_likelihood)
    assert gain >= -1e-9 * abs(weibull.log_likelihood)
    # The likelihood-ratio interval of the shape holds 1 just when the gain is small.
    low, high = weibull.parameter_interval("shape", method="likelihood")
    level = stats.chi2.ppf(0.95, 1)
    if abs(gain - level) > 1e-3:
        assert (low < 1 < high) == (gain < level)


@FEW
@given(life_counts())
def test_assuming_the_fitted_shape_gives_the_fitted_scale(counts):
    fit = fit_life(*counts, distribution="weibull")

    assumed = weibull_assumed_shape(*counts, shape=fit.parameters["shape"])

    assert assumed.scale == pytest.approx(fit.parameters["scale"], rel=1e-7)
    assert assumed.low < assumed.scale < assumed.high


@FEW
@given(
    st.lists(
        st.tuples(st.integers(0, 50), st.integers(1, 50), st.integers(1, 9)),
        min_size=1,
        max_size=8,
    ),
    TWO_PARAMETERS,
)
def test_intervals_alone_fix_a_law_of_their_probabilities(drawn, distribution):
    lower = np.array([low for low, _, _ in drawn], float)
    upper = lower + [width for _, width, _ in drawn]

    is_fixed = max(60, lower.max()) > upper.min() and lower.any()
    assume(is_fixed and len(np.unique([lower, upper], axis=1).T) > 1)
    n = np.array([n for _, _, n in drawn])

    fit = fit_life(
        [60], [0], [5], distribution=distribution,
        lower=lower, upper=upper, n_interval=n,
    )  # fmt: skip

    law = density_and_survival(fit)
    value = n @ np.log(law.cdf(upper) - law.cdf(lower)) + 5 * law.logsf(60)
    assert fit.log_likelihood == pytest.approx(value, rel=1e-6)
