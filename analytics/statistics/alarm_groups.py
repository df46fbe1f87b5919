"""Alarms that show the same cases belong together, and count once."""

from collections.abc import Collection, Hashable, Sequence

import numpy as np
from numpy.typing import ArrayLike

from analytics.statistics.counts import Counts

LOOKS_BACK = 12
LEAST_SHARE = 0.5


def join_alarms(
    look: ArrayLike,
    evidence: ArrayLike,
    cases: Sequence[Collection[Hashable]],
) -> Counts:
    """Say of each alarm which alarm founded its group.

    Parameters
    ----------
    look : array of int, shape (n,)
    evidence : array of float, shape (n,)
        Of two alarms in one look the one with more evidence comes first.
    cases : sequence of sets, length n
        The cases behind each alarm.

    Returns
    -------
    array of int, shape (n,)
        Index of the alarm that founded the group; its own where it founded one.

    Raises
    ------
    ValueError
        Arrays of unequal length, evidence that is not a number.

    Notes
    -----
    In order of look, then evidence: an alarm that shares more than half of the smaller
    set of cases with an alarm of the last 12 looks joins that alarm's group; among
    several, the one with the largest share, then the earliest.
    """
    looks = np.asarray(look, dtype=np.int64)
    strength = np.asarray(evidence, dtype=np.float64)
    if looks.shape != (len(cases),) or strength.shape != (len(cases),):
        raise ValueError(
            f"there are {looks.shape} looks and {strength.shape} evidences "
            f"for {len(cases)} sets of cases"
        )
    if np.isnan(strength).any():
        raise ValueError("evidence must be a number")
    sets = [frozenset(one) for one in cases]
    order = np.lexsort((-strength, looks))
    group = np.arange(len(sets))
    for place, alarm in enumerate(order):
        best = LEAST_SHARE
        for earlier in order[:place]:
            if looks[alarm] - looks[earlier] > LOOKS_BACK:
                continue
            smaller = min(len(sets[alarm]), len(sets[earlier]))
            n_shared = len(sets[alarm] & sets[earlier])
            if smaller and n_shared / smaller > best:
                best = n_shared / smaller
                group[alarm] = group[earlier]
    return group
