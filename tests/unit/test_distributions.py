"""Life distributions: what is refused, what is said, and the borders."""

import math

import numpy as np
import pytest

from analytics.errors import InsufficientDataError
from analytics.statistics.distributions import fit_life

AGES = [100, 200, 400, 800]
N_FAILED = [3, 4, 2, 1]
N_CENSORED = [10, 0, 20, 30]
LAWS = ["weibull", "lognormal", "exponential"]


def fitted(distribution="weibull", **options):
    return fit_life(AGES, N_FAILED, N_CENSORED, distribution=distribution, **options)


@pytest.mark.parametrize("distribution", LAWS)
def test_nobody_has_failed_when_new_and_all_fail_in_the_end(distribution):
    fit = fitted(distribution)

    assert list(fit.survival([0, math.inf])) == [1, 0]
    assert list(fit.failed_fraction([0, math.inf])) == [0, 1]
    assert list(fit.quantile([0, 1])) == [0, math.inf]


@pytest.mark.parametrize("distribution", LAWS)
def test_answers_have_the_shape_of_the_question(distribution):
    fit = fitted(distribution)

    assert np.ndim(fit.survival(100)) == 0
    assert fit.failed_fraction([[1, 2, 3]]).shape == (1, 3)
    for method in ("wald", "likelihood"):
        low, high = fit.quantile_interval([[0.1], [0.2]], method=method)
        assert low.shape == high.shape == (2, 1)
        assert (low < fit.quantile([[0.1], [0.2]])).all()
        assert (high > fit.quantile([[0.1], [0.2]])).all()
        assert low[0] == fit.quantile_interval(0.1, method=method)[0]


@pytest.mark.parametrize("distribution", LAWS)
@pytest.mark.parametrize("method", ["wald", "likelihood"])
def test_a_higher_confidence_gives_wider_limits(distribution, method):
    narrow, wide = fitted(distribution, confidence=0.5), fitted(distribution)

    for name, value in wide.parameters.items():
        low, high = wide.parameter_interval(name, method=method)
        inner_low, inner_high = narrow.parameter_interval(name, method=method)
        assert low < inner_low < value < inner_high < high


def test_wald_limits_are_symmetric_on_the_log_scale_except_mu():
    weibull, lognormal = fitted("weibull"), fitted("lognormal")

    low, high = weibull.intervals["shape"]
    assert math.sqrt(low * high) == pytest.approx(weibull.parameters["shape"])
    low, high = lognormal.intervals["mu"]
    assert (low + high) / 2 == pytest.approx(lognormal.parameters["mu"])
    error = math.sqrt(lognormal.covariance[0, 0])
    assert high - low == pytest.approx(2 * 1.959964 * error, rel=1e-6)


def test_counts_of_the_fit_include_failures_in_intervals():
    fit = fitted(lower=[0], upper=[1], n_interval=[5])

    assert fit.n_failed == 15
    assert fit.n_units == 75
    logs = np.log([*AGES, 0.5])
    assert fit.mean_log_age == pytest.approx(np.average(logs, weights=[*N_FAILED, 5]))


def test_failures_on_day_0_as_an_interval_lower_the_shape():
    assert (
        fitted(lower=[0], upper=[1], n_interval=[2]).parameters["shape"]
        < fitted().parameters["shape"]
    )


@pytest.mark.parametrize("distribution", LAWS)
def test_a_unit_last_seen_at_age_0_counts_and_tells_nothing(distribution):
    fit = fit_life(
        [0, *AGES], [0, *N_FAILED], [7, *N_CENSORED], distribution=distribution
    )

    assert fit.parameters == fitted(distribution).parameters
    assert fit.n_units == fitted(distribution).n_units + 7


def test_a_shape_of_1_makes_late_entries_only_shorten_the_time_seen():
    fit = fitted("exponential", entry_age=[0, 50], n_entered=[40, 30])

    total = np.dot(AGES, np.add(N_FAILED, N_CENSORED)) - 50 * 30
    assert fit.parameters["scale"] == pytest.approx(total / 10, rel=1e-13)


def test_a_mean_life_is_the_time_seen_over_the_failures_to_the_last_digits():
    fit = fit_life([5, 9, 12], [1, 1, 1], [0, 1, 0], distribution="exponential")

    assert fit.parameters["scale"] == pytest.approx(35 / 3, rel=1e-13)


@pytest.mark.parametrize("distribution", LAWS)
def test_ages_near_the_largest_number_leave_a_fit_without_a_warning(distribution):
    ages = np.multiply(AGES, 1e300)

    fit = fit_life(ages, N_FAILED, N_CENSORED, distribution=distribution)

    at = float(fit.quantile(0.1)) / 1e300
    assert at == pytest.approx(float(fitted(distribution).quantile(0.1)), rel=1e-9)
    if distribution != "lognormal":
        assert not np.isfinite(fit.covariance[-1, -1])


def test_too_few_units_leave_the_corrected_criterion_undefined():
    fit = fit_life([1, 2, 3], [1, 1, 1], [0, 0, 0], distribution="weibull")

    assert math.isnan(fit.aicc)


def test_a_limit_the_likelihood_never_reaches_is_unbounded():
    # One inspection each, at 10 and at 100: a law that has the same share failed at
    # both, with a shape near 0, is not much less likely than the fitted one.
    fit = fit_life(
        [10, 100], [0, 0], [5, 3], distribution="weibull",
        lower=[0, 0], upper=[10, 100], n_interval=[1, 3],
    )  # fmt: skip

    low, high = fit.parameter_interval("shape", method="likelihood")

    assert low == 0
    assert fit.parameters["shape"] < high < math.inf


def test_failures_in_one_interval_fix_an_exponential_law_and_its_limits():
    fit = fit_life(
        [10], [0], [1], distribution="exponential", lower=[0], upper=[10],
        n_interval=[1], confidence=0.95,
    )  # fmt: skip

    assert fit.parameters["scale"] == pytest.approx(10 / math.log(2))
    low, high = fit.parameter_interval("scale", method="likelihood")
    assert 0 < low < fit.parameters["scale"] < high < math.inf


@pytest.mark.parametrize("distribution", LAWS)
def test_ages_of_any_size_can_be_fitted(distribution):
    for factor in (1e-100, 1e100):
        fit = fit_life(
            np.multiply(AGES, factor), N_FAILED, N_CENSORED, distribution=distribution
        )

        median = fitted(distribution).quantile(0.5) * factor
        assert fit.quantile(0.5) == pytest.approx(median, rel=1e-9)


def test_a_scale_too_small_for_a_number_is_0_with_an_open_interval():
    # Late entries and a hazard that falls as 1 / age: shape near 0, scale below 1e-308.
    ages = np.array([1.0, 2, 274, 42])
    failed, censored = np.array([2, 1, 0, 3]), np.array([1, 6, 6, 0])

    fit = fit_life(
        ages, failed, censored, distribution="weibull", entry_age=ages / 4,
        n_entered=2 * failed + censored, lower=ages / 2, upper=ages, n_interval=failed,
    )  # fmt: skip

    assert fit.parameters["scale"] == 0
    assert fit.intervals["scale"] == (0, math.inf)
    assert 0 < fit.parameters["shape"] < fit.intervals["shape"][1] < math.inf
    assert fit.failed_fraction(1) == 1


def test_a_million_units_are_fitted_like_their_share():
    many = fit_life(
        AGES, np.multiply(N_FAILED, 10**5), np.multiply(N_CENSORED, 10**5),
        distribution="weibull",
    )  # fmt: skip

    assert many.parameters == pytest.approx(fitted().parameters, rel=1e-9)


@pytest.mark.parametrize("distribution", ["weibull", "lognormal"])
@pytest.mark.parametrize(
    ("age", "failed", "censored", "interval"),
    [
        ([5], [9], [0], {}),
        ([5, 9], [9, 0], [0, 9], {}),
        ([5, 5], [1, 1], [0, 0], {}),
        # One age known to lie in the interval of the other.
        ([5], [1], [0], {"lower": [0], "upper": [9]}),
        # Both may have failed at 10.
        ([], [], [], {"lower": [0, 10], "upper": [10, 20]}),
        ([9], [0], [50], {"lower": [0], "upper": [9], "n_interval": [4]}),
    ],
)
def test_failures_at_one_age_do_not_fix_two_parameters(
    distribution, age, failed, censored, interval
):
    with pytest.raises(InsufficientDataError, match="distinct ages with a failure"):
        fit_life(age, failed, censored, distribution=distribution, **interval)


def test_failures_at_one_age_fix_an_exponential_law():
    fit = fit_life([5], [2], [0], distribution="exponential")

    assert fit.parameters["scale"] == pytest.approx(5)


@pytest.mark.parametrize("distribution", LAWS)
def test_no_failure_is_said_to_be_too_few(distribution):
    with pytest.raises(InsufficientDataError, match="at least 1 failures, found 0"):
        fit_life([5], [0], [100], distribution=distribution)


def test_failures_all_by_one_age_and_no_time_seen_fix_nothing():
    with pytest.raises(InsufficientDataError, match="known to have worked"):
        fit_life(
            [], [], [], distribution="exponential", lower=[0], upper=[5], n_interval=[3]
        )


def test_a_likelihood_that_rises_without_end_is_said_to_have_no_maximum():
    # At each inspection the share found failed falls: no law does that.
    with pytest.raises(InsufficientDataError, match="no maximum"):
        fit_life(
            [10, 100], [0, 0], [1, 30], distribution="weibull",
            lower=[0, 0], upper=[10, 100], n_interval=[30, 1],
        )  # fmt: skip


@pytest.mark.parametrize(
    ("arguments", "options", "message"),
    [
        (([0], [1], [0]), {}, r"pass it as the interval \(0, 1\]"),
        (([1], [1], [0]), {"distribution": "gamma"}, "distribution must be weibull"),
        (([1], [1], [0]), {"confidence": 0}, "confidence must be between 0 and 1"),
        (([1], [1], [0]), {"lower": [0]}, "lower and upper must be given together"),
        (([1], [1], [0]), {"n_interval": [1]}, "must be given together"),
        (([1], [1], [0]), {"lower": [2], "upper": [2]}, "lower below upper"),
        (([1], [1], [0]), {"lower": [2], "upper": [3, 4]}, "must pair up"),
        (([1], [1], [0]), {"lower": [2], "upper": [math.inf]}, "upper must be finite"),
        (([1], [1], [0]), {"n_entered": [1]}, "without entry_age"),
        (([1, 2], [1, 1], [0, 0]), {"entry_age": [1.5, 1.6]}, "more units enter from"),
        (
            ([1, 2], [1, 1], [0, 0]),
            {"entry_age": [0, 0.5], "n_entered": [2, 1]},
            "more units enter from age 0.0 on than end after it",
        ),
        (([1], [1, 1], [0]), {}, r"n_failed must have shape \(1,\)"),
    ],
)
def test_counts_that_do_not_fit_are_refused(arguments, options, message):
    with pytest.raises(ValueError, match=message):
        fit_life(*arguments, **({"distribution": "weibull"} | options))


@pytest.mark.parametrize(
    ("question", "message"),
    [
        (lambda fit: fit.survival(-1), "ages must not be negative"),
        (lambda fit: fit.quantile(1.5), "fractions must lie between 0 and 1"),
        (lambda fit: fit.quantile_interval(0), "above 0 and below 1"),
        (lambda fit: fit.quantile_interval(0.1, method="exact"), "method must be wald"),
        (lambda fit: fit.parameter_interval("mu"), "weibull has shape, scale"),
        (lambda fit: fit.parameter_interval("scale", method=""), "got ''"),
    ],
)
def test_questions_a_fit_cannot_answer_are_refused(question, message):
    with pytest.raises(ValueError, match=message):
        question(fitted())
