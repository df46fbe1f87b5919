"""The Weibull law with an assumed shape: borders, delayed entry, refusals."""

import math

import numpy as np
import pytest
from scipy import stats

from analytics.errors import InsufficientDataError
from analytics.statistics.distributions import fit_life, weibull_assumed_shape


def test_without_failure_an_assumed_shape_gives_a_one_sided_scale():
    fit = weibull_assumed_shape([100, 200], [0, 0], [50, 50], shape=2)

    total = 50 * 100**2 + 50 * 200**2
    assert fit.scale == fit.high == math.inf
    assert fit.low == pytest.approx(math.sqrt(total / -math.log(0.05)))
    assert (fit.n_failed, fit.n_units, fit.shape) == (0, 100, 2)


def test_without_failure_only_a_bound_is_said_of_ages_and_fractions():
    fit = weibull_assumed_shape([100, 200], [0, 0], [50, 50], shape=2)

    assert list(fit.survival([0, 365, math.inf])) == [1, 1, 1]
    assert list(fit.failed_fraction([0, 365])) == [0, 0]
    assert fit.quantile(0.1) == math.inf
    low, high = fit.failed_fraction_interval(365)
    assert low == 0
    assert high == pytest.approx(-math.expm1(-((365 / fit.low) ** 2)))
    low, high = fit.quantile_interval(0.1)
    assert low == pytest.approx(fit.low * math.sqrt(-math.log(0.9)))
    assert high == math.inf


@pytest.mark.parametrize("shape", [0.7, 1, 2.5])
def test_ages_and_fractions_are_those_of_the_law(shape):
    fit = weibull_assumed_shape([100, 250, 300], [1, 1, 0], [0, 0, 40], shape=shape)
    ages, shares = np.array([[0.0, 50], [365, 1e4]]), np.array([0, 0.01, 0.5, 1])

    law = stats.weibull_min(shape, scale=fit.scale)
    assert fit.survival(ages) == pytest.approx(law.sf(ages))
    assert fit.failed_fraction(ages) == pytest.approx(law.cdf(ages))
    assert fit.quantile(shares) == pytest.approx(law.ppf(shares))
    later, sooner = (stats.weibull_min(shape, scale=s) for s in (fit.high, fit.low))
    low, high = fit.failed_fraction_interval(ages)
    assert low == pytest.approx(later.cdf(ages))
    assert high == pytest.approx(sooner.cdf(ages))
    low, high = fit.quantile_interval(shares)
    assert low == pytest.approx(sooner.ppf(shares))
    assert high == pytest.approx(later.ppf(shares))
    assert np.ndim(fit.quantile(0.1)) == np.ndim(fit.failed_fraction(10)) == 0


def test_a_shape_of_1_with_delayed_entry_counts_only_the_time_seen():
    fit = weibull_assumed_shape(
        [100, 300], [1, 2], [4, 13], shape=1, entry_age=[0, 60], n_entered=[9, 11]
    )

    time_seen = 5 * 100 + 15 * 300 - 11 * 60
    assert fit.scale == pytest.approx(time_seen / 3)
    # Garwood's limits of a rate, with the time seen as exposure.
    assert fit.low == pytest.approx(2 * time_seen / stats.chi2.ppf(0.975, 8))
    assert fit.high == pytest.approx(2 * time_seen / stats.chi2.ppf(0.025, 6))


def test_delayed_entry_gives_the_scale_of_the_fit_with_its_shape():
    counts = [120, 200, 300, 500], [2, 3, 1, 2], [0, 5, 0, 20]
    entries = {"entry_age": [0, 80, 150], "n_entered": [13, 12, 8]}

    fit = fit_life(*counts, distribution="weibull", **entries)
    assumed = weibull_assumed_shape(*counts, shape=fit.parameters["shape"], **entries)

    assert assumed.scale == pytest.approx(fit.parameters["scale"], rel=1e-9)


def test_limits_cover_the_scale_with_delayed_entry_at_their_rate():
    rng = np.random.default_rng(20)
    n_hit = 0
    for _ in range(2000):
        entry = rng.choice([0.0, 40.0], 60)
        age = 500 * rng.weibull(2, 60)
        seen = age > entry
        end = np.minimum(age, 150)[seen]
        failed = (age <= 150)[seen]
        fit = weibull_assumed_shape(
            end, failed, ~failed, shape=2, entry_age=entry[seen], confidence=0.9
        )
        n_hit += fit.low < 500 < fit.high

    # With a count as small as 5 the limits cover more than they promise; three
    # standard errors of 2000 samples are 0.02.
    assert 0.88 < n_hit / 2000 < 0.98


def test_the_same_arguments_as_of_a_fit_are_taken_while_no_interval_holds_a_failure():
    plain = weibull_assumed_shape([100], [1], [9], shape=1.5)

    for empty in (
        {"lower": [], "upper": [], "n_interval": []},
        {"lower": [0], "upper": [1], "n_interval": [0]},
    ):
        assert weibull_assumed_shape([100], [1], [9], shape=1.5, **empty) == plain


@pytest.mark.parametrize("interval", [{"lower": [0], "upper": [1]}, {"upper": [7]}])
def test_failures_in_intervals_are_refused(interval):
    with pytest.raises(ValueError, match="interval are not supported"):
        weibull_assumed_shape([100], [1], [9], shape=1.5, **interval)


@pytest.mark.parametrize("shape", [0, -1, math.nan, math.inf])
def test_an_assumed_shape_must_be_above_0(shape):
    with pytest.raises(ValueError, match="shape must be above 0"):
        weibull_assumed_shape([1], [1], [0], shape=shape)


@pytest.mark.parametrize(
    ("counts", "entries"),
    [
        (([0], [0], [5]), {}),
        (([], [], []), {}),
        (([8], [0], [5]), {"entry_age": [8], "n_entered": [5]}),
    ],
)
def test_units_that_were_never_seen_working_say_nothing_about_the_scale(
    counts, entries
):
    with pytest.raises(InsufficientDataError, match="units seen above age 0") as raised:
        weibull_assumed_shape(*counts, shape=1, **entries)

    assert (raised.value.needed, raised.value.found) == (1, 0)


@pytest.mark.parametrize(
    ("arguments", "options", "message"),
    [
        (([5], [-1], [0]), {}, "n_failed must be whole and not negative"),
        (([-5], [1], [0]), {}, "age must be finite and not negative"),
        (([5], [1], [0]), {"entry_age": [6]}, "more units enter from age 6"),
        (([5], [1], [0]), {"n_entered": [6]}, "without entry_age"),
        (([5], [1], [0]), {"confidence": 1}, "confidence must be between"),
    ],
)
def test_counts_that_do_not_fit_an_assumed_shape_are_refused(
    arguments, options, message
):
    with pytest.raises(ValueError, match=message):
        weibull_assumed_shape(*arguments, shape=1, **options)


@pytest.mark.parametrize(
    ("question", "message"),
    [
        (lambda fit: fit.survival(-1), "ages must not be negative"),
        (lambda fit: fit.failed_fraction_interval(math.nan), "ages must not be"),
        (lambda fit: fit.quantile(1.5), "fractions must lie between 0 and 1"),
        (lambda fit: fit.quantile_interval(-0.1), "fractions must lie between"),
    ],
)
def test_questions_an_assumed_shape_cannot_answer_are_refused(question, message):
    with pytest.raises(ValueError, match=message):
        question(weibull_assumed_shape([100], [1], [9], shape=1.5))
