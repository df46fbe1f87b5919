"""The Poisson CUSUM: borders, and what it refuses."""

import math

import numpy as np
import pytest

from analytics.statistics import watch
from analytics.statistics.watch import cusum_run_length, poisson_cusum


def test_what_is_expected_may_differ_from_look_to_look():
    k = 1 / math.log(2)  # per expected event, for a doubling

    result = poisson_cusum([2, 2, 0], [1, 0, 5], threshold=3)

    assert list(result.path) == pytest.approx([2 - k, 4 - k, 0])
    assert list(result.signals) == [False, False, False]


def test_no_look_gives_an_empty_path():
    assert poisson_cusum([], 1.0, threshold=1).path.shape == (0,)


def test_a_threshold_of_zero_signals_at_once():
    assert poisson_cusum([0, 0], 1.0, threshold=0).signals.all()
    assert cusum_run_length(1.0, rate_ratio=2.0, threshold=0) == 1
    assert cusum_run_length(1.0, rate_ratio=2.0, threshold=-3.5) == 1


def test_what_never_comes_never_signals():
    assert cusum_run_length(1, rate_ratio=2, threshold=3, actual_ratio=0) == math.inf
    assert cusum_run_length(1, rate_ratio=2, threshold=math.inf) == math.inf
    assert not poisson_cusum([9, 9], 1.0, threshold=math.inf).signals.any()


@pytest.mark.parametrize(
    ("expected", "ratio", "threshold", "actual"),
    [(0.3, 3.0, 1.9, 2.0), (5.0, 1.5, 4.3, 1.0), (40.0, 1.2, 7.7, 1.1)],
)
def test_run_lengths_are_those_of_simulated_paths(expected, ratio, threshold, actual):
    rng, n_paths = np.random.default_rng(1), 20_000
    k = expected * (ratio - 1) / math.log(ratio)
    path, looks = np.zeros(n_paths), np.zeros(n_paths)
    running = np.arange(n_paths)
    while len(running):
        events = rng.poisson(expected * actual, len(running))
        path[running] = np.maximum(0, path[running] + events - k)
        looks[running] += 1
        running = running[path[running] < threshold]

    found = cusum_run_length(
        expected, rate_ratio=ratio, threshold=threshold, actual_ratio=actual
    )

    assert found == pytest.approx(looks.mean(), abs=4 * looks.std() / n_paths**0.5)


def test_a_run_far_from_signalling_is_long_and_finite():
    assert 1e80 < cusum_run_length(1.0, rate_ratio=2.0, threshold=300.0) < 1e100


def test_at_the_border_of_drift_the_end_of_the_run_is_a_geometric_series():
    # No drift: about (h + a bit)^2 over the variance of a look, from renewal theory
    # (the overshoots of a Poisson walk at both ends add about one event to h).
    mean = 1 / math.log(2)

    found = cusum_run_length(1.0, rate_ratio=2.0, threshold=60.0, actual_ratio=mean)

    assert found == pytest.approx(61**2 / mean, rel=0.02)


@pytest.mark.parametrize(
    ("expected", "threshold", "actual"),
    [(0.001, 3.0, 1.0), (0.004, 2.3, 1.5), (0.01, 6.0, 1.4)],
)
def test_looks_that_expect_little_can_be_taken_many_at_a_time(
    expected, threshold, actual, monkeypatch
):
    options = {"rate_ratio": 2.0, "threshold": threshold, "actual_ratio": actual}
    found = cusum_run_length(expected, **options)
    monkeypatch.setattr(watch, "LEAST_JUMP", 10**9)

    assert found == pytest.approx(cusum_run_length(expected, **options), rel=1e-6)


def test_a_rare_event_signals_by_itself_however_short_the_looks():
    found = cusum_run_length(1e-9, rate_ratio=2.0, threshold=0.5)

    assert found == pytest.approx(1e9)


def test_a_rest_taken_as_a_geometric_series_is_the_rest_followed(monkeypatch):
    options = {"rate_ratio": 2.0, "threshold": 45.0, "actual_ratio": 1 / math.log(2)}
    found = cusum_run_length(1.0, **options)
    monkeypatch.setattr(watch, "PRECISION", 0.0)

    assert found == pytest.approx(cusum_run_length(1.0, **options), rel=2e-5)


def test_runs_that_do_not_end_are_refused_in_words(monkeypatch):
    monkeypatch.setattr(watch, "MOST_STEPS", 50)

    with pytest.raises(ValueError, match="do not end within 50 looks"):
        cusum_run_length(1.0, rate_ratio=2.0, threshold=60.0, actual_ratio=1.4)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"rate_ratio": 1.0}, "rate_ratio"),
        ({"rate_ratio": math.nan}, "rate_ratio"),
        ({"threshold": math.nan}, "threshold"),
        ({"actual_ratio": -1.0}, "actual_ratio"),
        ({"expected_per_look": 0.0}, "expected_per_look"),
        ({"expected_per_look": math.inf}, "expected_per_look"),
        ({"threshold": 1e6}, "20000 events"),
    ],
)
def test_numbers_out_of_range_are_refused(options, words):
    sound = {"expected_per_look": 1.0, "rate_ratio": 2.0, "threshold": 3.0}
    with pytest.raises(ValueError, match=words):
        cusum_run_length(**(sound | options))


@pytest.mark.parametrize(
    ("events", "expected", "words"),
    [
        ([-1], 1.0, "n_events"),
        ([0.5], 1.0, "n_events"),
        ([[1]], 1.0, "one dimension"),
        ([1, 2], [1.0], "shape"),
        ([1], [-1.0], "n_expected"),
        ([1], math.nan, "n_expected"),
    ],
)
def test_counts_that_make_no_sense_are_refused(events, expected, words):
    with pytest.raises(ValueError, match=words):
        poisson_cusum(events, expected, threshold=1)
