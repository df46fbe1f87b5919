"""Expected failures by indirect standardisation, worked by hand."""

from dataclasses import replace

import numpy as np
import pytest

from analytics.statistics.watch_families import (
    Family,
    WatchedFleet,
    expected_and_observed,
)

# Two kinds, two looks, two ages, two modes. Exposure at age 0: 10 + 30, at age 1: 20.
FLEET = WatchedFleet(
    n_looks=2,
    n_kinds=3,
    n_modes=3,
    n_ages=2,
    kind=np.array([0, 0, 1]),
    look=np.array([0, 1, 1]),
    age=np.array([0, 1, 0]),
    exposure=np.array([10.0, 20.0, 30.0]),
    failure_kind=np.array([0, 1, 1, 0]),
    failure_look=np.array([0, 1, 1, 1]),
    failure_age=np.array([0, 0, 0, 1]),
    failure_mode=np.array([0, 0, 0, 1]),
)
BY_KIND = Family("kind", np.array([0, 0, 1]), np.array([0, 1, 2]))


def test_rates_of_the_whole_fleet_make_what_is_expected_of_a_part():
    found = expected_and_observed(FLEET, BY_KIND)

    # Mode 0: 3 failures in 40 at age 0; mode 1: 1 in 20 at age 1.
    assert found.expected == pytest.approx(np.array([[0.75, 0], [1.0, 2.25]]))
    assert found.observed.tolist() == [[1, 0], [1, 2]]
    assert found.stratum_failure.tolist() == [0, 0]
    assert found.stratum_value.tolist() == [0, 1]
    assert found.stratum_of_failure.tolist() == [0, 1, 1, 0]


def test_strata_in_which_nothing_is_expected_are_left_out():
    by_mode = Family("mode", np.array([0, 1, 2]), np.array([0, 1, 1]))

    found = expected_and_observed(FLEET, by_mode)

    # Mode 2 never failed; mode 1 only at age 1, at which kind 1 never was.
    pairs = list(zip(found.stratum_failure, found.stratum_value, strict=True))
    assert pairs == [(0, 0), (0, 1), (1, 0)]


def test_without_failures_no_stratum_is_left():
    none = np.zeros(0, dtype=np.int64)
    fleet = replace(
        FLEET,
        failure_kind=none,
        failure_look=none,
        failure_age=none,
        failure_mode=none,
    )

    found = expected_and_observed(fleet, BY_KIND)

    assert found.observed.shape == found.expected.shape == (2, 0)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"kind": np.array([0, 0, 3])}, "kind must be codes from 0 to 2"),
        ({"look": np.array([-1, 0, 0])}, "look must be codes"),
        ({"age": np.array([0, 1])}, "age must have shape"),
        ({"failure_mode": np.array([0, 0, 0, 3])}, "failure_mode must be codes"),
        ({"failure_age": np.array([0, 0, 0])}, "failure_age must have shape"),
        ({"exposure": np.array([1.0, np.nan, 1.0])}, "exposure must be finite"),
        ({"failure_look": np.array([0, 1, 1, 0])}, "1 failures lie in a kind"),
        ({"exposure": np.array([10.0, 0.0, 30.0])}, "1 failures lie in a kind"),
    ],
)
def test_codes_that_do_not_fit_are_refused(changes, words):
    with pytest.raises(ValueError, match=words):
        expected_and_observed(replace(FLEET, **changes), BY_KIND)


@pytest.mark.parametrize(
    ("family", "words"),
    [
        (Family("x", np.array([0, 0]), np.array([0, 1, 2])), "failure_of_mode of x"),
        (Family("x", np.array([0, 0, 1]), np.array([0, -1, 2])), "value_of_kind of x"),
    ],
)
def test_families_that_do_not_fit_are_refused(family, words):
    with pytest.raises(ValueError, match=words):
        expected_and_observed(FLEET, family)
