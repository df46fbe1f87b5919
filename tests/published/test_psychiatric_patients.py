"""Delayed entry: curve and laws on patients seen from their admission on.

Data    J. P. Klein and M. L. Moeschberger, Survival Analysis, section 1.15: 26
        psychiatric patients, age at admission, age at death or last sight; as shipped
        in the R package KMsurv (psych).
Values  No figure is printed for this use. The curve was cross-checked between R
        (survival) and lifelines, the Weibull law between lifelines and likelihoods
        written in Python and R; the exponential mean is the closed form
        (sum of exit - entry) / deaths. Restricted means were calculated with R 4.2.2
        (survival 3.5-3, rmean).
Read    2026-11-25; calculated with R 2026-11-27.
Digits  Curve 1e-7; restricted means 1e-9; estimates and limits 1e-6 relative, the
        agreement of the libraries.
"""

import numpy as np
import pytest

from analytics.statistics.distributions import fit_life
from analytics.statistics.hazard import hazard_by_age
from analytics.statistics.life import kaplan_meier, nelson_aalen
from analytics.statistics.restricted_mean import restricted_mean

# age at admission, age at the end, 1 = died
PATIENTS = [
    (51, 52, 1), (58, 59, 1), (55, 57, 1), (28, 50, 1), (21, 51, 0), (19, 47, 1), (25,
    57, 1), (48, 59, 1), (47, 61, 1), (25, 61, 0), (31, 62, 0), (24, 57, 0), (25, 58,
    0), (30, 67, 0), (33, 68, 0), (36, 61, 1), (30, 61, 0), (41, 63, 1), (43, 69, 1),
    (45, 69, 1), (35, 70, 0), (29, 63, 0), (35, 65, 0), (32, 67, 1), (36, 76, 1), (32,
    71, 0),
]  # fmt: skip
AGES_AT_DEATH = [
    47, 50, 52, 57, 59, 61, 63, 67, 69, 76,
]  # fmt: skip
AT_RISK = [
    21, 22, 21, 21, 18, 16, 11, 8, 5, 1,
]  # fmt: skip
SURVIVAL = [
    0.952380952381, 0.909090909091, 0.865800865801, 0.783343640486, 0.69630545821,
    0.609267275934, 0.553879341758, 0.484644424038, 0.290786654423, 0,
]  # fmt: skip


def columns():
    entry, end, died = np.array(PATIENTS).T
    return (end, died, 1 - died), {"entry_age": entry}


def test_curve_counts_only_patients_already_admitted():
    lives, entries = columns()

    curve = kaplan_meier(*lives, **entries)

    shown = np.isin(curve.age, AGES_AT_DEATH)
    assert list(curve.n_at_risk[shown]) == AT_RISK
    assert curve.survival[shown] == pytest.approx(SURVIVAL, rel=1e-7, abs=1e-12)
    assert curve.median() == 67


def test_cumulative_hazard_matches_the_libraries():
    lives, entries = columns()

    hazard = nelson_aalen(*lives, **entries)

    assert hazard.cumulative_hazard[-1] == pytest.approx(2.08795093795, rel=1e-7)
    assert hazard.standard_error[-1] == pytest.approx(1.06254939311, rel=1e-7)


@pytest.mark.parametrize(
    ("horizon", "mean", "error"),
    [(60, 58.2673217435122, 0.7667237541581), (70, 63.657754623123, 1.520473260143),
     (76, 65.402474549661, 1.994557051404)],
)  # fmt: skip
def test_mean_age_within_a_horizon_matches_the_library(horizon, mean, error):
    lives, entries = columns()

    result = restricted_mean(*lives, horizon=horizon, **entries)

    assert result.mean == pytest.approx(mean, rel=1e-9)
    assert result.standard_error == pytest.approx(error, rel=1e-9)


def test_years_in_view_are_added_up_from_admission():
    lives, entries = columns()

    result = hazard_by_age(*lives, edges=[0, 40, 60, 80], **entries)

    years = [
        sum(max(min(end, b) - max(entry, a), 0) for entry, end, _ in PATIENTS)
        for a, b in ((0, 40), (40, 60), (60, 80))
    ]
    assert list(result.exposure) == years
    assert list(result.n_failed) == [0, 7, 7]
    assert result.rate == pytest.approx([0, 7 / years[1], 7 / years[2]])


def test_weibull_law_matches_the_libraries():
    lives, entries = columns()

    fit = fit_life(*lives, distribution="weibull", **entries)

    assert fit.parameters == pytest.approx(
        {"shape": 8.40647603757, "scale": 68.6899368094}, rel=1e-6
    )
    assert fit.log_likelihood == pytest.approx(-57.41645617, abs=1e-3)
    assert fit.intervals["shape"] == pytest.approx(
        (5.34141408414, 13.2303615217), rel=1e-6
    )
    assert fit.quantile_interval(0.1, method="likelihood") == pytest.approx(
        (43.3053666156, 58.1496132764), rel=1e-6
    )


def test_exponential_mean_is_time_seen_over_deaths():
    lives, entries = columns()

    fit = fit_life(*lives, distribution="exponential", **entries)

    seen = sum(end - entry for entry, end, _ in PATIENTS)
    assert fit.parameters["scale"] == pytest.approx(seen / 14, rel=1e-9)
    assert fit.log_likelihood == pytest.approx(-68.5058774765, abs=1e-3)
