"""How late reports come in, and so up to which day failures are known.

The last failures before the day the data speak for are not confirmed yet. Counting
those units as survivors to that day would make lives look longer than they are; the
observation therefore ends earlier, by the 95 % point of the delay from failure to
confirmation.
"""

import datetime as dt
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from analytics.statistics.delays import delay_curve

ENOUGH_DELAYS = 20  # fewer do not fix a 95 % point
COMPLETE = 0.95


@dataclass(frozen=True, slots=True)
class ObservationEnd:
    """The last day on which failures count as known, and why that day.

    Attributes
    ----------
    day : datetime.date
    delay_days : int
        Days between that day and the day the data speak for.
    source : {"estimated", "assumed"}
        From the delays on record, or from the settings for want of them.
    n_delays : int
        Delays on record.
    """

    day: dt.date
    delay_days: int
    source: Literal["estimated", "assumed"]
    n_delays: int


def observation_end(
    delay_days: ArrayLike,
    truncation_days: ArrayLike,
    n_cases: ArrayLike,
    *,
    as_of: dt.date,
    assumed_delay_days: int,
) -> ObservationEnd:
    """Return the day up to which failures are known.

    Parameters
    ----------
    delay_days, truncation_days, n_cases : array of int, shape (k,)
        Days from failure to confirmation, days from failure to `as_of`, and how many
        cases share them; confirmed failures only.
    as_of : datetime.date
        The day the data speak for.
    assumed_delay_days : int
        The delay to assume when fewer than 20 are on record.

    Returns
    -------
    ObservationEnd
    """
    counts = np.asarray(n_cases, dtype=np.int64)
    n_delays = int(counts.sum())
    if n_delays < ENOUGH_DELAYS:
        delay, source = assumed_delay_days, "assumed"
    else:
        curve = delay_curve(delay_days, truncation_days, counts)
        delay, source = int(curve.quantile(COMPLETE)), "estimated"
    return ObservationEnd(
        day=as_of - dt.timedelta(days=delay),
        delay_days=delay,
        source="estimated" if source == "estimated" else "assumed",
        n_delays=n_delays,
    )
