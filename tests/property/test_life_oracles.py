"""Curves, tests and means beside three libraries on random lives.

Ages are whole, so that failures and censorings tie; entries fall between ages, where
all libraries agree on who is at risk.
"""

import lifelines
import numpy as np
import pytest
from lifelines.statistics import multivariate_logrank_test
from lifelines.utils import qth_survival_time, restricted_mean_survival_time
from sksurv.compare import compare_survival
from sksurv.nonparametric import kaplan_meier_estimator, nelson_aalen_estimator
from sksurv.util import Surv
from statsmodels.duration.survfunc import SurvfuncRight, survdiff

from analytics.statistics.life import kaplan_meier, log_rank, nelson_aalen
from analytics.statistics.restricted_mean import restricted_mean
from analytics.statistics.survival_band import survival_band

SEEDS = pytest.mark.parametrize("seed", range(8))
N = 600
CLOSE = {"rel": 1e-6, "abs": 1e-9}


def lives(seed, *, late):
    """Return age, failed and entry age of random units."""
    rng = np.random.default_rng(seed)
    age = np.ceil(40 * rng.weibull(rng.uniform(0.7, 3), N))
    censored_at = np.ceil(rng.uniform(5, 90, N))
    failed = age <= censored_at
    age = np.minimum(age, censored_at)
    entry = np.floor(rng.uniform(0, 1, N) * age) + 0.5 if late else np.zeros(N)
    entry[rng.random(N) < 0.4] = 0
    return age, failed.astype(int), entry


def counted(age, failed):
    return age, failed, 1 - failed


def by_group(group, failed):
    columns = group[:, None] == np.unique(group)
    return failed[:, None] * columns, (1 - failed)[:, None] * columns, columns


@SEEDS
@pytest.mark.parametrize("late", [False, True], ids=["from new", "late entry"])
def test_survival_and_greenwood_errors_agree_with_statsmodels(seed, late):
    age, failed, entry = lives(seed, late=late)

    curve = kaplan_meier(*counted(age, failed), entry_age=entry)

    other = SurvfuncRight(age, failed, entry=entry if late else None)
    survival, _, _ = curve.at(other.surv_times)
    at = np.searchsorted(curve.age, other.surv_times)
    assert survival == pytest.approx(other.surv_prob, **CLOSE)
    left = survival > 0
    assert curve.standard_error[at][left] == pytest.approx(
        other.surv_prob_se[left], **CLOSE
    )
    assert list(curve.n_at_risk[at]) == list(other.n_risk)


@SEEDS
@pytest.mark.parametrize("late", [False, True], ids=["from new", "late entry"])
def test_curve_hazard_and_limits_agree_with_lifelines(seed, late):
    age, failed, entry = lives(seed, late=late)
    counts = counted(age, failed)

    curve = kaplan_meier(*counts, entry_age=entry, confidence=0.9)
    hazard = nelson_aalen(*counts, entry_age=entry)

    other = lifelines.KaplanMeierFitter(alpha=0.1).fit(age, failed, entry=entry)
    assert curve.survival == pytest.approx(
        other.survival_function_at_times(curve.age).to_numpy(), **CLOSE
    )
    limits = other.confidence_interval_survival_function_
    inside = (curve.survival < 1) & (curve.survival > 0)
    for place, values in enumerate((curve.low, curve.high)):
        theirs = limits.iloc[:, place].reindex(curve.age).to_numpy()
        assert values[inside] == pytest.approx(theirs[inside], **CLOSE)
    other = lifelines.NelsonAalenFitter(nelson_aalen_smoothing=False)
    other.fit(age, failed, entry=entry)
    assert hazard.cumulative_hazard == pytest.approx(
        other.cumulative_hazard_at_times(hazard.age).to_numpy(), **CLOSE
    )


@SEEDS
@pytest.mark.parametrize("late", [False, True], ids=["from new", "late entry"])
def test_curve_and_limits_agree_with_scikit_survival(seed, late):
    age, failed, entry = lives(seed, late=late)

    curve = kaplan_meier(*counted(age, failed), entry_age=entry, confidence=0.8)

    ages, survival, (low, high) = kaplan_meier_estimator(
        failed == 1, age, entry if late else None, conf_level=0.8, conf_type="log-log"
    )
    ours = curve.at(ages)
    assert ours[0] == pytest.approx(survival, **CLOSE)
    # It puts 0 where the limits are not defined.
    known = (survival > 0) & (survival < 1)
    assert ours[1][known] == pytest.approx(low[known], **CLOSE)
    assert ours[2][known] == pytest.approx(high[known], **CLOSE)


@SEEDS
def test_hazard_and_groups_agree_with_scikit_survival(seed):
    age, failed, _ = lives(seed, late=False)
    group = np.random.default_rng(seed).integers(0, 4, N)
    n_failed, n_working, _ = by_group(group, failed)

    hazard = nelson_aalen(*counted(age, failed))
    result = log_rank(age, n_failed, n_working)

    ages, theirs = nelson_aalen_estimator(failed == 1, age)
    assert list(hazard.age) == list(ages)
    assert hazard.cumulative_hazard == pytest.approx(theirs, **CLOSE)
    statistic, _, groups, _ = compare_survival(
        Surv.from_arrays(failed == 1, age), group, return_stats=True
    )
    assert result.statistic == pytest.approx(statistic, **CLOSE)
    assert list(result.n_failed) == groups["observed"].tolist()
    assert result.n_expected == pytest.approx(groups["expected"].to_numpy(), **CLOSE)


@SEEDS
@pytest.mark.parametrize("late", [False, True], ids=["from new", "late entry"])
def test_quantiles_agree_with_lifelines(seed, late):
    age, failed, entry = lives(seed, late=late)

    curve = kaplan_meier(*counted(age, failed), entry_age=entry)

    other = lifelines.KaplanMeierFitter().fit(age, failed, entry=entry)
    for p in (0.01, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9):
        assert curve.quantile(p) == qth_survival_time(1 - p, other.survival_function_)


@SEEDS
@pytest.mark.parametrize("p", [0.1, 0.25, 0.5])
def test_limits_of_quantiles_agree_with_statsmodels(seed, p):
    age, failed, _ = lives(seed, late=False)

    curve = kaplan_meier(*counted(age, failed))

    other = SurvfuncRight(age, failed).quantile_ci(p, method="cloglog")
    assert curve.quantile_interval(p) == pytest.approx(other, **CLOSE)


@SEEDS
@pytest.mark.parametrize("late", [False, True], ids=["from new", "late entry"])
def test_restricted_means_agree_with_lifelines(seed, late):
    age, failed, entry = lives(seed, late=late)

    other = lifelines.KaplanMeierFitter().fit(age, failed, entry=entry)
    for horizon in (7.25, 20, age.max()):
        result = restricted_mean(
            *counted(age, failed), horizon=horizon, entry_age=entry
        )
        assert result.mean == pytest.approx(
            restricted_mean_survival_time(other, horizon), **CLOSE
        )


@SEEDS
def test_errors_of_restricted_means_follow_from_those_of_the_curve(seed):
    # Greenwood's covariance of the curve at any two ages, summed over the area.
    age, failed, entry = lives(seed, late=True)
    horizon = 20

    result = restricted_mean(*counted(age, failed), horizon=horizon, entry_age=entry)

    curve = SurvfuncRight(age, failed, entry=entry)
    seen = curve.surv_times < horizon
    times, survival = curve.surv_times[seen], curve.surv_prob[seen]
    relative = (curve.surv_prob_se[seen] / survival) ** 2
    width = np.diff(np.append(times, horizon))
    earlier = np.minimum.outer(relative, relative)
    covariance = np.outer(survival, survival) * earlier
    assert result.standard_error**2 == pytest.approx(
        width @ covariance @ width, **CLOSE
    )


@pytest.mark.filterwarnings("ignore:Starting with pandas version 4")  # lifelines
@SEEDS
def test_log_rank_of_several_groups_agrees_with_lifelines(seed):
    age, failed, _ = lives(seed, late=False)
    group = np.random.default_rng(seed).integers(0, 4, N)
    n_failed, n_working, _ = by_group(group, failed)

    result = log_rank(age, n_failed, n_working)

    other = multivariate_logrank_test(age, group, failed)
    assert result.statistic == pytest.approx(other.test_statistic, **CLOSE)
    assert result.p_value == pytest.approx(other.p_value, **CLOSE)
    assert result.degrees_of_freedom == other.degrees_of_freedom


@SEEDS
@pytest.mark.parametrize("late", [False, True], ids=["from new", "late entry"])
@pytest.mark.parametrize("stratified", [False, True], ids=["pooled", "stratified"])
def test_log_rank_agrees_with_statsmodels(seed, late, stratified):
    age, failed, entry = lives(seed, late=late)
    rng = np.random.default_rng(seed)
    group, stratum = rng.integers(0, 3, N), rng.integers(0, 5, N)
    n_failed, n_working, columns = by_group(group, failed)
    options = {"stratum": stratum} if stratified else {}
    late_options = {"entry_age": entry, "n_entered": columns} if late else {}
    if stratified and late:
        late_options["entry_stratum"] = stratum

    result = log_rank(age, n_failed, n_working, **options, **late_options)

    # Its strata forget late entries: laid one after the other in age, they never meet.
    shift = 1000 * stratum if stratified and late else 0
    statistic, p_value = survdiff(
        age + shift,
        failed,
        group,
        strata=stratum if stratified and not late else None,
        entry=entry + shift if late else None,
    )
    assert result.statistic == pytest.approx(statistic, **CLOSE)
    assert result.p_value == pytest.approx(p_value, **CLOSE)


@SEEDS
def test_the_band_is_wider_than_limits_at_one_age_of_lifelines(seed):
    age, failed, entry = lives(seed, late=True)

    band = survival_band(*counted(age, failed), entry_age=entry)

    other = lifelines.KaplanMeierFitter().fit(age, failed, entry=entry)
    limits = other.confidence_interval_survival_function_.reindex(band.age).to_numpy()
    assert (band.low < limits[:, 0]).all()
    assert (band.high > limits[:, 1]).all()
