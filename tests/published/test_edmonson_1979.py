"""Survival of the ovarian cancer trial.

Data    J. H. Edmonson and others, Cancer Treatment Reports 63 (1979) 241: 26 patients;
        as shipped in the R package survival (ovarian).
Values  Median 638 days as R prints it; survival and limits were only cross-checked
        between R, lifelines, statsmodels and scikit-survival.
Read    2026-11-25.
Digits  Whole days, exact; the others to 1e-7 relative.
"""

import math

import numpy as np
import pytest

from analytics.statistics.life import kaplan_meier

# days, 1 = died
PATIENTS = [
    (59, 1), (115, 1), (156, 1), (268, 1), (329, 1), (353, 1), (365, 1), (377, 0),
    (421, 0), (431, 1), (448, 0), (464, 1), (475, 1), (477, 0), (563, 1), (638, 1),
    (744, 0), (769, 0), (770, 0), (803, 0), (855, 0), (1040, 0), (1106, 0), (1129, 0),
    (1206, 0), (1227, 0),
]  # fmt: skip

SURVIVAL_AT_638 = 0.496732026144
LIMITS_AT_638 = (0.282054664292, 0.679210083342)


def test_median_survival_and_its_limits_match_the_libraries():
    days, died = np.array(PATIENTS).T

    curve = kaplan_meier(days, died, 1 - died)

    at_638 = np.flatnonzero(curve.age == 638)[0]
    assert curve.median() == 638
    assert curve.median_interval() == (431, math.inf)
    assert curve.survival[at_638] == pytest.approx(SURVIVAL_AT_638, rel=1e-7)
    assert (curve.low[at_638], curve.high[at_638]) == pytest.approx(
        LIMITS_AT_638, rel=1e-7
    )
