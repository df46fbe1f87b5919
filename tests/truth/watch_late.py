"""False alarms where failures are confirmed late and figures published on and on.

150 strata, four years of looks of thirty days, levels that differ, nothing changes.
Failures are confirmed 25 days later on average (gamma, shape 2). From the third year on
figures are published at the end of each month, or each week; what is expected of a look
is lowered to the share that is confirmed by then. A look is judged while it is the
newest and not again; alarms raised before stand. Expected numbers and scatter are known
to the calibration; each publish fits its own.
"""

from functools import cache
from typing import Any

import numpy as np
from scipy import stats

from analytics.statistics.counts import Floats
from analytics.statistics.quiet_fleet import QuietFleet, fit_quiet_fleet
from analytics.statistics.watch_evidence import watch
from analytics.statistics.watch_threshold import calibrate
from tests.truth.study import Outcome, Promise, Scene

RATIO = "false alarms, realised / stated"
AS_STATED = Promise(0.9, 1.1, is_rate=False)
N_STRATA, N_LOOKS, FIRST_LIVE, FIRST_PUBLISHED = 150, 48, 12, 24
DAYS, YEAR = 30, 12
PER_YEAR, LEVEL_VARIANCE = 4.0, 0.09
DELAY = stats.gamma(2, scale=12.5)
N_DRAWS, N_FLEETS = 150, 120
EVERY = {"each month": DAYS, "each week": 7}


@cache
def _expected() -> Floats:
    rng = np.random.default_rng(1)
    rate = np.exp(rng.uniform(np.log(0.05), np.log(2), N_STRATA))
    start = np.where(rng.random(N_STRATA) < 0.5, 0, rng.integers(0, 30, N_STRATA))
    is_there: Any = np.arange(N_LOOKS)[:, None] >= start
    return np.where(is_there, rate, 0.0)


@cache
def _published(every: int) -> list[tuple[int, int, Floats, Floats]]:
    """Return day, looks, completeness and thresholds of each publish."""
    rng, found = np.random.default_rng(2), []
    last = N_LOOKS * DAYS
    for day in range(FIRST_PUBLISHED * DAYS, last + 1, every):
        n = -(-day // DAYS)
        share = np.array([_complete(look, day) for look in range(n)])
        quiet = QuietFleet(
            level_variance=np.asarray(LEVEL_VARIANCE),
            dispersion=np.asarray(1.0),
            look_shock=np.asarray(0.0),
            shock_variance=np.asarray(0.0004),
            level=np.ones(N_STRATA),
            shock=np.ones(n),
        )
        threshold = calibrate(
            _expected()[:n] * share[:, None],
            quiet,
            per_year=PER_YEAR,
            rng=rng,
            n_draws=N_DRAWS,
            first_live=FIRST_LIVE,
        ).threshold
        found.append((day, n, share, threshold))
    return found


def _complete(look: int, day: int) -> float:
    days = np.arange(look * DAYS, min((look + 1) * DAYS, day))
    return max(float(DELAY.cdf(day - 1 - days + 0.5).sum()) / DAYS, 0.001)


def late_of(every: int, rng: np.random.Generator) -> Outcome:
    level = rng.gamma(1 / LEVEL_VARIANCE, LEVEL_VARIANCE, N_STRATA)
    look, stratum = np.nonzero(drawn := rng.poisson(_expected() * level))
    look, stratum = (
        np.repeat(codes, drawn[look, stratum]) for codes in (look, stratum)
    )
    failed = look * DAYS + rng.integers(0, DAYS, len(look))
    confirmed = failed + np.rint(DELAY.rvs(len(look), random_state=rng))
    known: list[tuple[int, int]] = []
    n_new, through = 0, -1
    published = _published(every)
    for number, (day, n, share, threshold) in enumerate(published):
        is_known = (confirmed < day) & (failed < day)
        counts = np.zeros((n, N_STRATA))
        np.add.at(counts, (look[is_known], stratum[is_known]), 1)
        expected = _expected()[:n] * share[:, None]
        seen = watch(
            counts,
            expected,
            fit_quiet_fleet(counts, expected),
            threshold,
            first_live=FIRST_LIVE,
            live_from=min(through + 1, n - 1),
            known=known,
        )
        fresh = ~seen.is_known
        known += zip(
            seen.look[fresh].tolist(), seen.stratum[fresh].tolist(), strict=True
        )
        n_new += int(fresh.sum()) if number else 0  # the first looks back
        through = n - 1
    years = (published[-1][0] - published[0][0]) / DAYS / YEAR
    return Outcome(len(look), {RATIO: n_new / years / PER_YEAR})


def scenes() -> list[Scene]:
    return [
        Scene(
            f"late reports, {name}",
            "late reports",
            lambda rng, every=every: late_of(every, rng),
            {RATIO: AS_STATED},
            N_FLEETS,
        )
        for name, every in EVERY.items()
    ]
