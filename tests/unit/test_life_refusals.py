"""What each estimate says where the data cannot answer, and what it refuses."""

import math

import pytest

from analytics.errors import InsufficientDataError
from analytics.statistics.hazard import hazard_by_age
from analytics.statistics.life import kaplan_meier, log_rank, nelson_aalen
from analytics.statistics.restricted_mean import restricted_mean
from analytics.statistics.survival_band import survival_band

ESTIMATES = {
    "survival": kaplan_meier,
    "hazard": nelson_aalen,
    "band": survival_band,
    "mean": lambda *lives, **more: restricted_mean(*lives, horizon=1, **more),
    "rate": lambda *lives, **more: hazard_by_age(*lives, edges=[0, 1], **more),
}
EVERY = pytest.mark.parametrize("name", ESTIMATES)


@EVERY
@pytest.mark.parametrize(
    "lives", [([], [], []), ([1, 2], [0, 0], [0, 0])], ids=["no row", "no unit"]
)
def test_no_unit_is_too_few(name, lives):
    with pytest.raises(
        InsufficientDataError, match="needed at least 1 units"
    ) as caught:
        ESTIMATES[name](*lives)

    assert (caught.value.what, caught.value.needed, caught.value.found) == (
        "units",
        1,
        0,
    )


@EVERY
@pytest.mark.parametrize(
    ("lives", "options", "message"),
    [
        (([1], [1, 2], [0]), {}, r"n_failed must have shape \(1,\)"),
        (([1], [[1, 2]], [0]), {}, r"n_failed must have shape \(1,\), got \(1, 2\)"),
        (([1], [1], [0, 0]), {}, r"n_censored must have shape \(1,\)"),
        (([1], [-1], [1]), {}, "n_failed must be whole and not negative, got -1"),
        (([1], [1], [-1]), {}, "n_censored must be whole and not negative, got -1"),
        (
            ([1], [math.nan], [1]),
            {},
            "n_failed must be whole and not negative, got nan",
        ),
        (([-1], [1], [0]), {}, "age must be finite and not negative, got -1"),
        (([math.inf], [1], [0]), {}, "age must be finite and not negative, got inf"),
        (([[1]], [1], [0]), {}, "age must have one dimension"),
        (([1], [1], [1]), {"confidence": 95}, "confidence must be between 0 and 1"),
        (([1], [1], [1]), {"n_entered": [2]}, "n_entered was given without entry_age"),
        (([1], [1], [1]), {"entry_age": [-1, 0]}, "entry_age must be finite and not"),
        (([1], [1], [1]), {"entry_age": [0]}, "accounts for 1 units"),
        (([1], [1], [1]), {"entry_age": [0], "n_entered": [-2]}, "n_entered must be"),
        (([1], [1], [1]), {"entry_age": [2, 0]}, "more units have left by age 1"),
        (([1], [1], [0]), {"entry_age": [1]}, "more units fail at age 1"),
    ],
)
def test_lives_that_cannot_be_are_refused(name, lives, options, message):
    with pytest.raises(ValueError, match=message):
        ESTIMATES[name](*lives, **options)


def test_working_units_alone_give_a_curve_and_a_rate_but_no_measure_of_error():
    working = ([10, 20], [0, 0], [3, 4])

    curve = kaplan_meier(*working)
    rate = hazard_by_age(*working, edges=[0, 20])

    assert (list(curve.survival), curve.quantile(0.01)) == ([1, 1], math.inf)
    # "At most so often": 3.69 over 3 x 10 + 4 x 20, Garwood's limit of no failure.
    assert (rate.rate[0], rate.low[0]) == (0, 0)
    assert rate.high[0] == pytest.approx(3.689 / 110, rel=1e-3)
    with pytest.raises(InsufficientDataError, match="failures before the horizon 20"):
        restricted_mean(*working, horizon=20)
    with pytest.raises(InsufficientDataError, match="5 failures that left others"):
        survival_band(*working)


def test_failures_at_age_0_stay_in_the_curve():
    lives = ([0, 0, 30], [2, 0, 0], [0, 1, 7])

    curve = kaplan_meier(*lives)

    assert list(curve.n_at_risk) == [10, 7]
    assert list(curve.survival) == pytest.approx([0.8, 0.8])
    assert curve.at(0)[0] == pytest.approx(0.8)
    assert nelson_aalen(*lives).cumulative_hazard[0] == pytest.approx(0.2)


def test_all_units_failing_at_once_leave_no_curve_to_put_a_band_around():
    with pytest.raises(
        InsufficientDataError, match="that left others working"
    ) as caught:
        survival_band([0], [9], [0])

    assert (caught.value.needed, caught.value.found) == (5, 0)


def test_groups_of_working_units_are_not_compared():
    with pytest.raises(InsufficientDataError, match="failures that others") as caught:
        log_rank([1, 2], [[0, 0], [0, 0]], [[1, 0], [0, 1]])

    assert (caught.value.needed, caught.value.found) == (1, 0)
