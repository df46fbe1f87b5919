"""Alarms and their figures, worked by hand on a fleet without scatter of its own.

With a dispersion of 1, no shocks and a level known beforehand (a variance near 0) the
evidence is Poisson's log likelihood ratio of n against m: n ln(n / m) - (n - m).
"""

import math

import numpy as np
import pytest

from analytics.statistics.quiet_fleet import QuietFleet
from analytics.statistics.watch_evidence import watch
from analytics.statistics.watch_figures import expected_by_look, ratio_after

SURE = 1e-9


def plain_fleet(n_looks, n_strata, *, level_variance=SURE):
    return QuietFleet(
        level_variance=np.asarray(level_variance),
        dispersion=np.asarray(1.0),
        look_shock=np.asarray(0.0),
        shock_variance=np.asarray(SURE),
        level=np.ones(n_strata),
        shock=np.ones(n_looks),
    )


def poisson_ratio(n, m):
    return n * math.log(n / m) - (n - m)


def risen(n_looks=20, at=15, n=5):
    """Two a look in two strata, then more in the second."""
    y, e = np.full((n_looks, 2), 2), np.full((n_looks, 2), 2.0)
    y[at:, 1] = n
    return y, e


def test_evidence_is_the_poisson_ratio_where_the_level_is_known():
    y, e = risen()

    found = watch(y, e, plain_fleet(20, 2), 1e9, keep_evidence=True)

    # Of the last three looks two are risen, 12 against 6, then all, 15 against 6. Six
    # looks, 18 and 21 against 12, show less.
    assert found.best_evidence[14, 1] == 0
    assert found.best_evidence[16, 1] == pytest.approx(poisson_ratio(12, 6), rel=1e-5)
    assert found.best_evidence[17, 1] == pytest.approx(poisson_ratio(15, 6), rel=1e-5)
    assert (found.best_evidence[:, 0] == 0).all()
    assert len(found.look) == 0


def test_an_alarm_carries_its_figures():
    y, e = risen()

    found = watch(y, e, plain_fleet(20, 2), 3.9)

    assert (found.look.tolist(), found.stratum.tolist()) == ([17], [1])
    assert (found.window[0], found.since[0]) == (3, 15)
    assert (found.observed[0], found.expected[0]) == (15, pytest.approx(6))
    assert found.threshold[0] == 3.9
    assert found.evidence[0] == pytest.approx(poisson_ratio(15, 6))
    assert found.ratio[0] == pytest.approx(2.5)
    half = 1.959964 * math.sqrt(1 / 15)
    limits = 2.5 * math.exp(-half), 2.5 * math.exp(half)
    assert (found.low[0], found.high[0]) == pytest.approx(limits, rel=1e-4)
    assert not found.is_known[0]


def test_a_level_of_doubt_is_learnt_from_the_looks_before_the_last_twelve():
    # Level variance 1/4: a shape of 4 beforehand. Ten looks with 4 where 2 were
    # expected: shape 4 + 40 over 4 + 20. Of the twelve after them the last has 20.
    y = np.array([4] * 10 + [2] * 11 + [20])[:, None]
    e = np.full((22, 1), 2.0)
    fit = plain_fleet(22, 1, level_variance=0.25)

    found = watch(y, e, fit, 0.5, first_live=20)

    shape, n, m = 44, 24, 44 / 24 * 6
    by_hand = n * math.log(n / m) - (shape + n) * math.log((shape + n) / (shape + m))
    assert found.look.tolist() == [21]
    assert (found.window[0], found.observed[0]) == (3, 24)
    assert found.expected[0] == pytest.approx(m)
    assert found.evidence[0] == pytest.approx(by_hand)


def test_an_alarm_restarts_and_silences_its_stratum():
    y, e = risen(n_looks=40, n=6)

    found = watch(y, e, plain_fleet(40, 2), 3.0, keep_evidence=True)

    # With the level known for sure, it alarms again as soon as its silence is over.
    assert found.look.tolist() == [16, 29]
    # Right after an alarm a window holds one look, 6 against 2, then two and three.
    assert found.best_evidence[17, 1] == pytest.approx(poisson_ratio(6, 2), rel=1e-5)
    assert found.best_evidence[18, 1] == pytest.approx(poisson_ratio(12, 4), rel=1e-5)
    assert found.since[1] == 18  # no further back than twelve looks


def test_known_alarms_stand_restart_and_silence():
    y, e = risen(n_looks=40, n=6)

    found = watch(y, e, plain_fleet(40, 2), 3.0, known=[(20, 1), (5, 0)], live_from=30)

    assert found.look.tolist() == [5, 20, 33]
    assert found.is_known.tolist() == [True, True, False]
    assert found.evidence[0] == 0
    assert found.evidence[1] > 3
    assert found.threshold.tolist() == [3.0, 3.0, 3.0]


def test_a_known_alarm_in_a_look_without_failures_has_figures_too():
    y, e = np.zeros((8, 1)), np.ones((8, 1))
    y[0] = 1

    found = watch(y, e, plain_fleet(8, 1), np.nan, known=[(7, 0)])

    assert (found.evidence[0], found.observed[0], found.window[0]) == (0, 1, 12)
    assert math.isnan(found.threshold[0])
    assert (found.since[0], found.ratio[0]) == (0, pytest.approx(1 / 8))
    assert found.low[0] < 1 / 8 < found.high[0]


def test_a_lone_failure_is_no_alarm_however_rare():
    y, e = np.zeros((30, 1)), np.full((30, 1), 1e-6)
    y[20] = 1

    found = watch(y, e, plain_fleet(30, 1), 0.5, keep_evidence=True)

    assert len(found.look) == 0
    assert found.best_evidence[20, 0] == 0
    assert np.isnan(found.best_evidence[19, 0])


def test_two_failures_in_one_look_are_enough():
    y, e = np.zeros((30, 1)), np.full((30, 1), 1e-6)
    y[20] = 2

    assert watch(y, e, plain_fleet(30, 1), 0.5).look.tolist() == [20]


def test_looks_before_the_first_live_one_and_without_threshold_raise_none():
    y, e = risen(n_looks=30, n=6)
    fit = plain_fleet(30, 2)
    threshold = np.full(30, 3.0)
    threshold[:25] = np.nan

    assert watch(y, e, fit, threshold).look.tolist() == [25]
    assert watch(y, e, fit, 3.0, first_live=27).look.tolist() == [27]
    assert watch(y, e, fit, np.full(30, np.inf)).look.tolist() == []


def test_no_strata_give_no_alarm():
    fit = plain_fleet(4, 0)

    found = watch(np.zeros((4, 0)), np.zeros((4, 0)), fit, 1.0, keep_evidence=True)

    assert found.look.shape == (0,)
    assert found.best_evidence.shape == (4, 0)


def test_alarms_of_one_look_come_strongest_first():
    y, e = np.full((20, 3), 2), np.full((20, 3), 2.0)
    y[18] = (9, 14, 11)

    found = watch(y, e, plain_fleet(20, 3), 1.0)

    assert found.look.tolist() == [18, 18, 18]
    assert found.stratum.tolist() == [1, 2, 0]


def test_the_ratio_after_an_alarm_leaves_out_what_raised_it():
    y, e = risen()
    fit = plain_fleet(20, 2)

    after = ratio_after(y, e, fit, stratum=[1, 1], look=[17, 19], since=[15, 15])

    # Two looks after look 17, none after the last.
    assert (after[0].observed, after[0].expected) == (10, pytest.approx(4))
    assert after[0].ratio == pytest.approx(2.5)
    half = 1.959964 * math.sqrt(1 / 10)
    assert after[0].high == pytest.approx(2.5 * math.exp(half), rel=1e-4)
    assert (after[1].observed, after[1].expected) == (0, 0)
    assert math.isnan(after[1].ratio)
    assert (after[1].low, after[1].high) == (0, math.inf)


def test_no_failure_after_an_alarm_has_an_upper_limit():
    y, e = risen()
    y[18:, 1] = 0

    after = ratio_after(y, e, plain_fleet(20, 2), stratum=[1], look=[17], since=[15])

    # Where the level is sure: the upper limit of no event, -ln 0.025, over 4 expected.
    assert (after[0].ratio, after[0].low) == (0, 0)
    assert after[0].high == pytest.approx(-math.log(0.025) / 4, rel=1e-5)


def test_expected_failures_by_look_are_those_of_the_level_before():
    y = np.array([3] * 10 + [9] * 3)[:, None]
    e = np.full((13, 1), 2.0)
    fit = plain_fleet(13, 1, level_variance=0.5)

    found = expected_by_look(y, e, fit, stratum=[0], since=[10])

    assert found.shape == (1, 13)
    assert found[0] == pytest.approx((2 + 30) / (2 + 20) * 2)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"threshold": [1.0]}, "threshold must have 20 looks"),
        ({"threshold": 0.0}, "threshold must be above 0"),
        ({"known": [(20, 0)]}, "known alarm"),
        ({"known": [(-1, 0)]}, "known alarm"),
        ({"fit": plain_fleet(19, 2)}, "the fit is of"),
        ({"n_failures": np.zeros((20, 3, 2))}, "without replicates"),
    ],
)
def test_what_does_not_fit_is_refused(options, words):
    y, e = risen()
    given = {"n_failures": y, "n_expected": e, "fit": plain_fleet(20, 2)}
    given |= {"threshold": 1.0, **options}
    with pytest.raises(ValueError, match=words):
        watch(
            given.pop("n_failures"),
            given.pop("n_expected"),
            given.pop("fit"),
            given.pop("threshold"),
            **given,
        )
