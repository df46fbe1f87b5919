"""The Poisson CUSUM: its path, and how long until it signals.

Data    Reference value 0.25 and threshold 10 for counts with mean 0.25 (Lucas, Counted
        data CUSUM's, Technometrics 27 (1985) 129, table 2); counts made up for the
        path, reference value 1.5, threshold 5; Poisson counts in the Markov chain of
        Brook and Evans (Biometrika 59 (1972) 539), written out here.
Values  438 looks is printed by Lucas; means 0.5 and 1 were only cross-checked between R
        (spc) and a chain of our own. The path is by hand, and so are chances of a
        threshold which the first event reaches.
Read    2026-11-25 (438 as quoted in the help page of R's spc), the chain from memory.
Digits  438 to half a unit; the others to 1e-9 relative, the path exactly.
"""

import math
from fractions import Fraction

import numpy as np
import pytest
from scipy import stats

from analytics.statistics.watch import cusum_run_length, poisson_cusum

# With this rate ratio the reference value is (e - 1) times what is expected.
E_RATIO = {"rate_ratio": math.e}
PER_REFERENCE = 1 / (math.e - 1)


def run_length(reference, threshold, mean):
    expected = reference * PER_REFERENCE
    return cusum_run_length(
        expected, **E_RATIO, threshold=threshold, actual_ratio=mean / expected
    )


def test_mean_run_lengths_are_those_of_lucas():
    assert run_length(0.25, 10, 0.25) == pytest.approx(438, abs=0.5)
    assert run_length(0.25, 10, 0.25) == pytest.approx(438.124999499, rel=1e-9)
    assert run_length(0.25, 10, 0.5) == pytest.approx(39.9137682684, rel=1e-9)
    assert run_length(0.25, 10, 1.0) == pytest.approx(14.1551263758, rel=1e-9)


def test_the_path_is_the_one_worked_by_hand():
    result = poisson_cusum(
        [1, 0, 2, 3, 1, 4, 2, 0, 5, 3], 1.5 * PER_REFERENCE, **E_RATIO, threshold=5
    )

    by_hand = [0, 0, 0.5, 2, 1.5, 4, 4.5, 3, 6.5, 8]
    assert list(result.path) == pytest.approx(by_hand, abs=1e-12)
    assert list(result.signals) == [False] * 8 + [True, True]


@pytest.mark.parametrize(
    ("reference", "threshold", "mean"),
    [("1/2", "3", 0.3), ("3/2", "5", 1.2), ("7/5", "4", 1.0), ("10/3", "8", 3.5)],
)
def test_a_markov_chain_on_the_lattice_gives_the_same(reference, threshold, mean):
    step, top = Fraction(reference), Fraction(threshold)
    unit = step.denominator
    n = int(top * unit)  # the states below the threshold, in parts of an event
    moves = np.zeros((n, n))
    for state in range(n):
        for events in range(60):
            after = max(0, state + events * unit - int(step * unit))
            if after < n:
                moves[state, after] += stats.poisson.pmf(events, mean)
    by_chain = np.linalg.solve(np.eye(n) - moves, np.ones(n))[0]

    assert run_length(float(step), float(top), mean) == pytest.approx(by_chain)


@pytest.mark.parametrize("mean", [0.003, 0.2, 1.0])
def test_a_threshold_the_first_event_reaches_makes_runs_geometric(mean):
    # One event less the reference value 0.4 is 0.6.
    assert run_length(0.4, 0.6, mean) == pytest.approx(1 / -math.expm1(-mean))


def test_a_threshold_two_events_in_one_look_reach_makes_runs_geometric():
    # One event is undone by the reference value 1, so that nothing is carried over.
    mean = 0.5
    two_or_more = 1 - math.exp(-mean) * (1 + mean)

    assert run_length(1.0, 1.0, mean) == pytest.approx(1 / two_or_more)
