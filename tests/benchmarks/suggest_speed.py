"""Fault suggestions: training, one suggestion, and the next check after readings.

The cases are returns of the invented fleet (`tests.truth.suggest_fleet`). Training
includes the evaluation that is kept with it. A suggestion ranks five causes with their
reasons; the next check brings the probabilities up to date with three readings first,
as the page does, from a table read once. Seconds of the processor on one core, so that
what else the machine does counts less; p50 and p99 are those of 300 cases. The peak of
memory is that of the process so far, drawing the returns included.
"""

import resource
import sys
import time
from collections.abc import Callable
from functools import partial

import numpy as np
from threadpoolctl import threadpool_limits

from analytics.advice.check_table import default_check_table
from analytics.advice.checks_at_hand import ChecksAtHand, checks_at_hand
from analytics.advice.expert_table import default_expert_table
from analytics.advice.first_check import next_check, update_probabilities
from analytics.advice.suggest import FaultSuggester
from tests.truth.suggest_fleet import Returns, draw_returns

N_TRAINED = (20_000, 100_000)
N_ASKED = 300
# The first readings of a case: proved dead, looked at, and one check failed.
DONE = {"proved_dead": "pass", "visual_inspection": "pass", "pilot_continuity": "fail"}


def measure_suggestions(sizes: tuple[int, ...] = N_TRAINED) -> None:
    """Print the seconds of training, and milliseconds of a case."""
    with threadpool_limits(1):
        for n_cases in sizes:
            returns = draw_returns(n_cases + N_ASKED, np.random.default_rng(1))
            start = time.process_time()
            suggester = _trained(returns, n_cases)
            took = time.process_time() - start
            what = f"train on {n_cases} cases, evaluated"
            peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            print(f"{what:<44}{took:>9.1f} s   peak {peak:>6.0f} MB")
            asked = returns.cases.iloc[-N_ASKED:]
            _measure_cases(suggester, asked.to_dict("records"), n_cases)


def _trained(returns: Returns, n_cases: int) -> FaultSuggester:
    rows = np.arange(len(returns) - N_ASKED - n_cases, len(returns) - N_ASKED)
    known = returns.take(rows)
    return FaultSuggester.fit(
        known.cases,
        known.cause,
        expert_table=default_expert_table(),
        rng=np.random.default_rng(1),
    )


def _measure_cases(
    suggester: FaultSuggester, asked: list[dict[str, object]], n_cases: int
) -> None:
    tables = {
        connector: checks_at_hand(default_check_table({"connector": connector}))
        for connector in ("type_1", "type_2")
    }
    suggested, ranked = [], []
    for intake in asked:
        suggested.append(_milliseconds(partial(suggester.suggest, intake)))
        p = {str(c): x for c, x in suggester.suggest(intake).probabilities.items()}
        ranked.append(_milliseconds(partial(_next, p, tables[intake["connector"]])))
    both = [one + other for one, other in zip(suggested, ranked, strict=True)]
    for what, took in (
        ("suggestion", suggested),
        ("next check after three readings", ranked),
        ("both", both),
    ):
        middle, late = np.percentile(took, [50, 99])
        name = f"{what}, {n_cases} cases"
        print(f"{name:<44}  p50 {middle:>6.1f} ms   p99 {late:>6.1f} ms")


def _next(probabilities: dict[str, float], table: ChecksAtHand) -> None:
    now = update_probabilities(probabilities, table, DONE)
    next_check(now, table, done=DONE, proved_safe=True)


def _milliseconds(task: Callable[[], object]) -> float:
    start = time.process_time()
    task()
    return 1000 * (time.process_time() - start)


if __name__ == "__main__":
    measure_suggestions(tuple(map(int, sys.argv[1:])) or N_TRAINED)
