"""Critical values of the equal precision band, and the band on a published trial.

Data    Critical values for bands from a to b, where a and b are C / (1 + C) with
        Greenwood's sum C: J. P. Klein and M. L. Moeschberger, Survival Analysis, 2nd
        edition, Springer 2003, table C.3, as shipped in the R package km.ci
        (critical.value.nair.90 and .95). Weeks of remission on 6-mercaptopurine: E. J.
        Freireich and others, Blood 21 (1963) 699.
Values  The table. Its figures are the tail formula of R. Miller and D. Siegmund,
        Biometrics 38 (1982) 1011, solved for c. For changes of a mean at an unknown
        time between 15 and 85 % of a series, D. W. K. Andrews, Econometrica 61 (1993)
        821, simulates 8.85 for c^2 at 5 % (from memory). The limits are those
        of km.ci 0.5-6 (method logep, weeks 6 to 23), which looks up this table.
Read    2026-11-27.
Digits  The formula meets the table in all four decimals. Being a formula for the
        far tail it is up to 0.01 (95 %) and 0.014 (90 %) away from the exact value once
        C has doubled; so close our values have to come. 8.85 to 0.02, the error of a
        simulation. The limits to 0.01: the table is read at rounded a and b.
"""

import math

import numpy as np
import pytest
from scipy import optimize, stats

from analytics.statistics.survival_band import critical_value, survival_band

# a, b, critical values at 90 and 95 %
PRINTED = [
    (0.02, 0.10, 2.4547, 2.7500), (0.02, 0.50, 2.7402, 3.0140),
    (0.02, 0.98, 2.9919, 3.2428), (0.06, 0.94, 2.8664, 3.1287),
    (0.10, 0.50, 2.5386, 2.8290), (0.10, 0.90, 2.7844, 3.0542),
    (0.20, 0.80, 2.6186, 2.9029), (0.24, 0.60, 2.4291, 2.7256),
    (0.30, 0.90, 2.6517, 2.9333), (0.50, 0.90, 2.5386, 2.8290),
]  # fmt: skip
# week, 1 = relapse, 0 = still in remission
TREATED = [
    (10, 1), (7, 1), (32, 0), (23, 1), (22, 1), (6, 1), (16, 1), (34, 0), (32, 0),
    (25, 0), (11, 0), (20, 0), (19, 0), (6, 1), (17, 0), (35, 0), (6, 1), (13, 1), (9,
    0), (6, 0), (10, 0),
]  # fmt: skip
LOW = {
    6: 0.4474744968537, 7: 0.4060874703458, 10: 0.3570966412714, 13: 0.2945090189344,
    16: 0.2414848211486, 22: 0.1555143626804, 23: 0.0964598440705,
}  # fmt: skip
HIGH = {
    6: 0.970882065271, 7: 0.950101631660, 10: 0.924781232500, 13: 0.893632187601,
    16: 0.858229680516, 22: 0.813252268447, 23: 0.759252957609,
}  # fmt: skip


def growth(a, b):
    return b * (1 - a) / (a * (1 - b))


@pytest.mark.parametrize(("a", "b", "at_90", "at_95"), PRINTED)
def test_critical_values_lie_beside_the_printed_ones(a, b, at_90, at_95):
    ratio = growth(a, b)

    assert critical_value(ratio, confidence=0.9) == pytest.approx(at_90, abs=0.014)
    assert critical_value(ratio) == pytest.approx(at_95, abs=0.01)


@pytest.mark.parametrize(("a", "b", "at_90", "at_95"), PRINTED)
def test_the_printed_values_are_those_of_a_tail_formula(a, b, at_90, at_95):
    # This is why the test above allows more than a rounding.
    log_ratio = math.log(growth(a, b))

    def tail(c):
        return stats.norm.pdf(c) * (4 / c + (c - 1 / c) * log_ratio)

    for printed, level in ((at_90, 0.1), (at_95, 0.05)):
        c = optimize.brentq(lambda c, level=level: tail(c) - level, 1.3, 6)
        assert printed == pytest.approx(c, abs=6e-5)


def test_the_square_is_the_critical_value_for_an_unknown_time_of_change():
    assert critical_value((0.85 / 0.15) ** 2) ** 2 == pytest.approx(8.85, abs=0.02)


def test_the_band_lies_beside_that_of_a_library():
    week, relapsed = np.array(TREATED).T

    band = survival_band(week, relapsed, 1 - relapsed, from_age=6, to_age=23)

    shown = np.isin(band.age, list(LOW))
    assert band.low[shown] == pytest.approx(list(LOW.values()), abs=0.01)
    assert band.high[shown] == pytest.approx(list(HIGH.values()), abs=0.01)
