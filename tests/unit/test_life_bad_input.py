"""What a fit says of lives it cannot use: how much is needed, what was found."""

import math

import pytest

from analytics.errors import InsufficientDataError
from analytics.statistics.distributions import fit_life

LAWS = ["weibull", "lognormal", "exponential"]
TWO_PARAMETERS = ["weibull", "lognormal"]
ON_DAY_0 = {"lower": [0], "upper": [1], "n_interval": [4]}


@pytest.mark.parametrize("distribution", LAWS)
@pytest.mark.parametrize(
    ("counts", "options"),
    [
        (([], [], []), {}),
        (([], [], []), {"lower": [], "upper": [], "n_interval": []}),
        (([5, 9], [0, 0], [1, 2]), {}),
        (([0], [0], [7]), {}),
        (([5, 9], [0, 0], [1, 2]), {"entry_age": [0, 4], "n_entered": [1, 2]}),
        (([9], [0], [2]), {"lower": [3], "upper": [5], "n_interval": [0]}),
    ],
)
def test_lives_without_a_failure_need_one(distribution, counts, options):
    with pytest.raises(InsufficientDataError) as raised:
        fit_life(*counts, distribution=distribution, **options)

    assert raised.value.what == "failures"
    assert (raised.value.needed, raised.value.found) == (1, 0)


@pytest.mark.parametrize("distribution", TWO_PARAMETERS)
@pytest.mark.parametrize(
    ("counts", "options"),
    [
        (([5, 9], [3, 0], [0, 2]), {}),
        (([5, 5], [1, 2], [0, 2]), {}),
        (([9], [0], [20]), ON_DAY_0),
        (([9], [1], [0]), {"entry_age": [4]}),
    ],
)
def test_failures_at_one_age_need_another(distribution, counts, options):
    with pytest.raises(InsufficientDataError) as raised:
        fit_life(*counts, distribution=distribution, **options)

    assert raised.value.what == "distinct ages with a failure"
    assert (raised.value.needed, raised.value.found) == (2, 1)


@pytest.mark.parametrize("distribution", LAWS)
@pytest.mark.parametrize(
    ("counts", "options", "message"),
    [
        (([0, 9], [3, 1], [0, 2]), {}, r"age 0 has no density; .* interval \(0, 1\]"),
        (([5], [-1], [2]), {}, "n_failed must be whole and not negative, got -1"),
        (([5], [1], [-2]), {}, "n_censored must be whole and not negative, got -2"),
        (([5], [0.5], [2]), {}, "n_failed must be whole and not negative, got 0.5"),
        (([5], [math.nan], [2]), {}, "n_failed must be whole and not negative"),
        (([-5], [1], [2]), {}, "age must be finite and not negative, got -5"),
        (([math.nan], [1], [2]), {}, "age must be finite and not negative, got nan"),
        (([math.inf], [1], [2]), {}, "age must be finite and not negative, got inf"),
        (([[5, 8]], [[1, 1]], [[0, 0]]), {}, "age must have one dimension"),
        (([5, 8], [1, 1], [0, 0]), ON_DAY_0 | {"n_interval": [-1]}, "n_interval must"),
        (([5, 8], [1, 1], [0, 0]), {"entry_age": [0, 9]}, "enter from age 9.0 on than"),
        (([5, 8], [1, 1], [0, 0]), {"entry_age": [0, -1]}, "entry_age must be finite"),
        (
            ([5, 8], [1, 1], [0, 0]),
            {"entry_age": [0, 6], "n_entered": [0, 2]},
            "more units enter from age 6.0 on than end after it",
        ),
    ],
)
def test_impossible_lives_are_refused_with_what_came(
    distribution, counts, options, message
):
    with pytest.raises(ValueError, match=message):
        fit_life(*counts, distribution=distribution, **options)


@pytest.mark.parametrize("distribution", LAWS)
def test_one_more_of_what_was_needed_is_enough(distribution):
    for counts, options in [
        (([5, 9], [3, 1], [0, 2]), {}),
        (([9, 12], [1, 0], [0, 20]), ON_DAY_0),
    ]:
        fit = fit_life(*counts, distribution=distribution, **options)

        assert 0 < fit.quantile(0.1) < fit.quantile(0.5) < math.inf
