"""Hypothesis strategies: a few units with their ages, ends, entries and groups."""

import numpy as np
from hypothesis import strategies as st


@st.composite
def fleets(draw):
    """Draw one row per unit: age, failed, entry age, group, stratum.

    Two units are seen from new to the last age, so that the risk set never runs empty.
    Entries fall between ages.
    """
    n = draw(st.integers(4, 30))

    def numbers(low, high):
        return np.array(draw(st.lists(st.integers(low, high), min_size=n, max_size=n)))

    age = numbers(1, 12)
    late = numbers(0, 1) == 1
    entry = np.where(late, np.minimum(numbers(0, 11), age - 1) + 0.5, 0)
    failed, group = numbers(0, 1), numbers(0, 1)
    age[:2], failed[:2], entry[:2] = 12, 0, 0
    group[0], group[1] = 0, 1
    return age.astype(float), failed, entry, group, numbers(0, 1)


def counts(age, failed):
    return {"age": age, "n_failed": failed, "n_censored": 1 - failed}
