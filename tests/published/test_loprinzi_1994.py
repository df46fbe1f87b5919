"""Median survival and log-rank test on the lung cancer data.

Data    C. L. Loprinzi and others, Journal of Clinical Oncology 12 (1994) 601: 228
        patients; as shipped in the R package survival (lung).
Values  Median 310 days and log-rank 10.3 by sex as R prints them; the other figures
        were only cross-checked between R, lifelines and statsmodels. Quantiles,
        restricted means (survfit, rmean) and the stratified log-rank (survdiff) were
        calculated with R 4.2.2, survival 3.5-3.
Read    2026-11-25; calculated with R 2026-11-27.
Digits  Ages are whole days, exact; 10.3 to half a unit; others 1e-6 relative.
"""

import math

import numpy as np
import pytest

from analytics.statistics.life import kaplan_meier, log_rank
from analytics.statistics.restricted_mean import restricted_mean

# days, 1 = died, sex (1 or 2), ECOG score (-1: not known)
PATIENTS = [
    (5, 1, 2, 0), (11, 1, 1, 0), (11, 1, 1, 1), (11, 1, 1, 2), (12, 1, 1, 2),
    (13, 1, 1, 1), (13, 1, 1, 2), (15, 1, 1, 0), (26, 1, 1, 2), (30, 1, 1, 2),
    (31, 1, 1, 0), (53, 1, 1, 0), (53, 1, 1, 2), (54, 1, 1, 2), (59, 1, 1, 1),
    (60, 1, 1, 1), (60, 1, 2, 1), (61, 1, 2, 2), (62, 1, 2, 1), (65, 1, 1, 0),
    (65, 1, 1, 2), (71, 1, 1, -1), (79, 1, 2, 1), (81, 1, 1, 2), (81, 1, 2, 0),
    (88, 1, 1, 1), (88, 1, 1, 1), (92, 0, 2, 2), (92, 1, 1, 1), (93, 1, 1, 2),
    (95, 1, 1, 1), (95, 1, 2, 2), (105, 0, 2, 2), (105, 1, 1, 2), (107, 1, 1, 1),
    (107, 1, 2, 2), (110, 1, 1, 1), (116, 1, 1, 1), (118, 1, 1, 3), (122, 1, 2, 2),
    (131, 1, 1, 1), (132, 1, 1, 1), (132, 1, 1, 2), (135, 1, 1, 1), (142, 1, 1, 1),
    (144, 1, 1, 1), (145, 1, 2, 1), (145, 1, 2, 2), (147, 1, 1, 0), (153, 1, 2, 2),
    (156, 1, 1, 1), (156, 1, 1, 2), (163, 1, 1, 1), (163, 1, 1, 1), (163, 1, 1, 2),
    (166, 1, 1, 2), (166, 1, 2, 0), (167, 1, 2, 1), (170, 1, 1, 1), (173, 0, 2, 1),
    (174, 0, 1, 1), (175, 0, 2, 0), (175, 1, 1, 1), (176, 1, 1, 0), (177, 0, 2, 1),
    (177, 1, 1, 2), (179, 1, 1, 1), (179, 1, 1, 1), (180, 1, 1, 2), (181, 1, 1, 1),
    (181, 1, 1, 1), (182, 1, 2, 1), (183, 1, 1, 2), (185, 0, 1, 1), (186, 1, 2, 1),
    (188, 0, 1, 1), (189, 1, 1, 0), (191, 0, 1, 0), (192, 0, 2, 1), (194, 1, 2, 1),
    (196, 0, 1, 1), (197, 0, 1, 1), (197, 1, 1, 1), (199, 1, 2, 2), (201, 1, 2, 0),
    (201, 1, 2, 2), (202, 0, 2, 0), (202, 1, 1, 1), (203, 0, 2, 1), (207, 1, 1, 1),
    (208, 1, 2, 2), (210, 1, 1, 1), (211, 0, 2, 2), (212, 1, 1, 2), (218, 1, 1, 1),
    (221, 0, 1, 1), (222, 0, 1, 1), (222, 1, 1, 2), (223, 1, 1, 1), (224, 0, 2, 0),
    (225, 0, 1, 0), (225, 0, 1, 1), (226, 1, 2, 1), (229, 1, 1, 1), (230, 1, 1, 1),
    (235, 0, 2, 0), (237, 0, 1, 1), (239, 1, 1, 1), (239, 1, 2, 2), (240, 0, 2, 0),
    (243, 0, 2, 1), (245, 1, 2, 1), (246, 1, 1, 0), (252, 0, 2, 0), (259, 0, 1, 0),
    (266, 0, 2, 0), (267, 1, 1, 0), (268, 1, 2, 1), (269, 0, 2, 0), (269, 1, 1, 1),
    (270, 1, 1, 1), (272, 0, 2, 1), (276, 0, 2, 0), (279, 0, 1, 1), (283, 1, 1, 1),
    (284, 0, 1, 0), (284, 1, 1, 1), (285, 1, 1, 0), (285, 1, 2, 2), (286, 1, 1, 0),
    (288, 1, 1, 2), (291, 1, 1, 2), (292, 0, 1, 2), (292, 0, 2, 0), (293, 1, 2, 1),
    (296, 0, 2, 1), (300, 0, 1, 0), (301, 0, 1, 1), (301, 1, 1, 1), (303, 0, 1, 1),
    (303, 1, 1, 0), (305, 1, 2, 1), (306, 1, 1, 1), (310, 1, 1, 1), (310, 1, 2, 2),
    (315, 0, 2, 0), (320, 1, 1, 0), (329, 1, 1, 2), (332, 0, 2, 0), (337, 1, 1, 0),
    (340, 1, 2, 0), (345, 1, 2, 1), (348, 1, 2, 0), (350, 1, 2, 0), (351, 1, 2, 2),
    (353, 1, 1, 0), (353, 1, 1, 0), (356, 0, 2, 1), (361, 1, 2, 2), (363, 1, 1, 1),
    (363, 1, 2, 1), (364, 0, 2, 1), (364, 1, 1, 1), (371, 1, 1, 0), (371, 1, 2, 1),
    (376, 0, 2, 1), (382, 0, 2, 0), (384, 0, 2, 0), (387, 1, 1, 2), (390, 1, 1, 1),
    (394, 1, 1, 0), (404, 0, 1, 1), (413, 0, 1, 1), (426, 1, 2, 1), (428, 1, 1, 0),
    (429, 1, 1, 1), (433, 1, 2, 0), (442, 1, 1, 0), (444, 0, 1, 0), (444, 1, 2, 2),
    (450, 1, 2, 1), (455, 1, 1, 0), (457, 1, 1, 1), (458, 0, 1, 1), (460, 1, 1, 1),
    (473, 1, 2, 1), (477, 1, 1, 1), (511, 0, 2, 1), (511, 0, 2, 2), (519, 1, 1, 1),
    (520, 1, 2, 1), (524, 1, 1, 2), (524, 1, 2, 1), (529, 0, 2, 1), (533, 1, 1, 2),
    (543, 0, 2, 0), (550, 1, 2, 1), (551, 0, 2, 2), (558, 1, 1, 0), (559, 0, 2, 0),
    (567, 1, 1, 1), (574, 1, 1, 0), (583, 1, 1, 1), (588, 0, 2, 0), (613, 1, 1, 1),
    (624, 1, 1, 1), (641, 1, 2, 1), (643, 1, 1, 0), (654, 1, 2, 2), (655, 1, 1, 0),
    (687, 1, 2, 1), (689, 1, 1, 1), (705, 1, 2, 0), (707, 1, 1, 2), (728, 1, 2, 1),
    (731, 1, 2, 1), (735, 1, 2, 1), (740, 0, 2, 1), (765, 1, 2, 1), (791, 1, 1, 0),
    (806, 0, 1, 1), (814, 1, 1, 2), (821, 0, 2, 0), (840, 0, 1, 0), (883, 1, 1, 0),
    (965, 0, 2, 1), (1010, 0, 1, 0), (1022, 0, 1, 1),
]  # fmt: skip


def columns():
    days, died, sex, _ = np.array(PATIENTS).T
    return days, died, 1 - died, sex


def test_median_is_310_days():
    days, died, alive, _ = columns()

    curve = kaplan_meier(days, died, alive)

    assert curve.median() == 310
    assert curve.median_interval() == (284, 361)


@pytest.mark.parametrize(
    ("p", "day", "low", "high"),
    [(0.1, 79, 54, 105), (0.25, 170, 144, 194), (0.75, 550, 457, 643),
     (0.9, 735, 687, math.inf)],
)  # fmt: skip
def test_other_quantiles_and_their_limits_match_the_library(p, day, low, high):
    days, died, alive, _ = columns()

    curve = kaplan_meier(days, died, alive)

    assert curve.quantile(p) == day
    assert curve.quantile_interval(p) == (low, high)


@pytest.mark.parametrize(
    ("horizon", "mean", "error"),
    [(365, 263.221866482007, 7.798859086314), (730, 357.07325161030, 16.21934423555),
     (1022, 376.27474614785, 19.70779142134)],
)  # fmt: skip
def test_mean_days_within_a_horizon_match_the_library(horizon, mean, error):
    days, died, alive, _ = columns()

    result = restricted_mean(days, died, alive, horizon=horizon)

    assert result.mean == pytest.approx(mean, rel=1e-9)
    assert result.standard_error == pytest.approx(error, rel=1e-9)


def test_log_rank_by_sex_matches_the_printed_statistic():
    days, died, alive, sex = columns()
    by_sex = np.stack([sex == 1, sex == 2], axis=1)

    result = log_rank(days, died[:, None] * by_sex, alive[:, None] * by_sex)

    assert result.statistic == pytest.approx(10.3, abs=0.05)
    assert result.statistic == pytest.approx(10.3267419549, rel=1e-6)
    assert result.p_value == pytest.approx(0.00131116452036, rel=1e-6)


def test_log_rank_by_sex_within_scores_matches_the_library():
    days, died, sex, score = np.array([row for row in PATIENTS if row[3] >= 0]).T
    by_sex = np.stack([sex == 1, sex == 2], axis=1)

    result = log_rank(
        days, died[:, None] * by_sex, (1 - died)[:, None] * by_sex, stratum=score
    )

    assert result.statistic == pytest.approx(10.7950596335, rel=1e-9)
    assert result.degrees_of_freedom == 1
    # Summed over the scores 0, 1, 2 and 3.
    assert list(result.n_failed) == [111, 53]
    assert result.n_expected == pytest.approx(
        [23.35667217353 + 41.97918435789 + 24.30516613223 + 1,
         13.64332782647 + 40.02081564211 + 19.69483386777], rel=1e-9,
    )  # fmt: skip
