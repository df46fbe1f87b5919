"""Incidence by mode where several units, of several modes, end at one age.

Data    Ten units with two modes, and eighty with three on five ages, both made up.
Values  Ten units: incidences are fractions by hand. Variances, and all of the eighty
        units: R 4.2.2, cmprsk 2.2-11 (cuminc, timepoints).
Read    Ten units 2026-11-25; eighty run 2026-11-27.
Digits  1e-9 relative.
"""

import numpy as np
import pytest

from analytics.statistics.competing_risks import cumulative_incidence

# age, 0 = working
TEN_UNITS = [
    (1, 0), (2, 1), (2, 2), (3, 1), (4, 0), (5, 2), (5, 0), (6, 1), (7, 2), (8, 0),
]  # fmt: skip
AGES = [2, 3, 5, 6, 7]
INCIDENCE_1 = [1 / 9, 2 / 9, 2 / 9, 2 / 5, 2 / 5]
INCIDENCE_2 = [1 / 9, 1 / 9, 11 / 45, 11 / 45, 19 / 45]
SURVIVAL = [7 / 9, 2 / 3, 8 / 15, 16 / 45, 8 / 45]
VARIANCE_1 = [
    0.0123456790123, 0.0216679264298, 0.0216679264298, 0.0468004815095, 0.0468004815095,
]  # fmt: skip
VARIANCE_2 = [
    0.0123456790123, 0.0123456790123, 0.0271101033006, 0.0271101033006, 0.0565157750343,
]  # fmt: skip

# ages 1 to 5: working, failed by mode 1, 2, 3
EIGHTY_UNITS = np.array(
    [(8, 2, 3, 3), (5, 4, 4, 3), (7, 4, 3, 3), (7, 3, 2, 3), (6, 3, 4, 3)]
)
INCIDENCE_OF_EIGHTY = [
    (0.025, 0.0375, 0.0375),
    (0.08125, 0.09375, 0.0796875),
    (0.143359375, 0.140332031250, 0.126269531250),
    (0.200459929435, 0.178399067540, 0.183370085685),
    (0.282541976436, 0.287841796875, 0.265452132686),
]
VARIANCE_OF_EIGHTY = [
    (0.000308544303797, 0.000456882911392, 0.000456882911392),
    (0.001027960061596, 0.001157802699056, 0.000991111741575),
    (0.001792470690986, 0.001727656749187, 0.001581294109937),
    (0.002560040209663, 0.002263871250394, 0.002386329702884),
    (0.003992142063818, 0.004176736009103, 0.003870929966190),
]


def test_ten_units_give_the_fractions_by_hand():
    age, mode = np.array(TEN_UNITS).T

    result = cumulative_incidence(
        age, np.stack([mode == 1, mode == 2], axis=1), mode == 0
    )

    at = np.searchsorted(result.age, AGES)
    assert result.incidence[at, 0] == pytest.approx(INCIDENCE_1, rel=1e-12)
    assert result.incidence[at, 1] == pytest.approx(INCIDENCE_2, rel=1e-12)
    assert result.survival[at] == pytest.approx(SURVIVAL, rel=1e-12)
    assert result.standard_error[at, 0] ** 2 == pytest.approx(VARIANCE_1, rel=1e-9)
    assert result.standard_error[at, 1] ** 2 == pytest.approx(VARIANCE_2, rel=1e-9)


def test_the_other_modes_are_taken_together_in_the_variance_of_one():
    result = cumulative_incidence(range(1, 6), EIGHTY_UNITS[:, 1:], EIGHTY_UNITS[:, 0])

    assert EIGHTY_UNITS.sum() == 80
    assert result.incidence == pytest.approx(np.array(INCIDENCE_OF_EIGHTY), rel=1e-9)
    assert result.standard_error**2 == pytest.approx(
        np.array(VARIANCE_OF_EIGHTY), rel=1e-9
    )
