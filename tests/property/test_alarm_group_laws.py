"""What holds for every grouping of alarms."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.statistics.alarm_groups import join_alarms


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6))
def test_groups_do_not_depend_on_the_order_of_alarms(seed):
    rng = np.random.default_rng(seed)
    n = int(rng.integers(1, 8))
    look, evidence = rng.integers(0, 30, n), rng.permutation(n) + 0.5
    cases = [set(rng.integers(0, 12, rng.integers(0, 6)).tolist()) for _ in range(n)]
    order = rng.permutation(n)

    group = join_alarms(look, evidence, cases)
    again = join_alarms(look[order], evidence[order], [cases[i] for i in order])

    assert (order[again] == group[order]).all()
    assert (group[group] == group).all()
    assert (look[group] <= look).all()
