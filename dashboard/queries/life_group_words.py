"""How two groups of units compare, in a sentence."""

from collections.abc import Sequence

import numpy as np

from analytics.statistics.comparison import LogRank
from dashboard import text
from dashboard.queries.answer import Row
from dashboard.queries.life_choice import Comparison

LEVEL = 0.05


def compared_in_words(
    groups: Sequence[Row],
    tested: LogRank,
    comparison: Comparison,
    *,
    is_part: bool,
) -> str:
    """Return which of two groups fails more often, or that the data do not show it.

    Parameters
    ----------
    groups : sequence of dict
    tested : LogRank
    comparison : Comparison
    is_part : bool
        Whether only some kinds of failure are asked for.
    """
    first, second = groups
    shares = "; ".join(
        f"{group['group']}: {_shares(group)}" for group in (first, second)
    )
    inside = (
        f" of the same {text.words(comparison.within)}" if comparison.within else ""
    )
    way = " this way" if is_part else ""
    condition = ", if no other failure existed" if is_part else ""
    failed = f"Failed{way} in the first year{condition}: {shares}."
    basis = f"log-rank test, p = {text.p_value(tested.p_value)}"
    if tested.p_value >= LEVEL:
        return (
            f"The data do not show that {first['group']} and {second['group']}{inside} "
            f"fail differently{way} ({basis}). {failed}"
        )
    more, fewer = (
        (first, second)
        if tested.n_failed[0] > tested.n_expected[0]
        else (second, first)
    )
    return (
        f"{more['group']} fails{way} more often than {fewer['group']}{inside} at the "
        f"same age ({basis}). {failed} Which difference between the groups is behind "
        "it the data do not say."
    )


def _shares(group: Row) -> str:
    share, low, high = (
        float(str(group[key]))
        for key in ("failed_first_year", "first_year_low", "first_year_high")
    )
    counted = (
        f"{text.count(int(str(group['n_failed_first_year'])))} of "
        f"{text.count(int(str(group['n_units'])))} units"
    )
    if np.isnan(share):
        return f"not seen that long ({counted})"
    return (
        f"{text.estimate(100 * share)} % (95 % interval {text.estimate(100 * low)} to "
        f"{text.estimate(100 * high)} %; {counted})"
    )
