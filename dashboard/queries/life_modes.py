"""How many fail by which mode, and what would remain if some modes did not exist."""

import numpy as np
from numpy.typing import NDArray

from analytics.statistics.competing_risks import (
    CumulativeIncidence,
    cumulative_incidence,
    survival_without,
)
from analytics.statistics.life import SurvivalCurve
from dashboard import text
from dashboard.filters import Filters
from dashboard.queries.answer import Row
from dashboard.queries.life_ages import horizon_of
from dashboard.queries.life_lives import Counts, Lives
from ingest import catalogue

SHOWN_MODES = 6
OTHERS = "others"

Floats = NDArray[np.float64]


def _by_number(lives: Lives) -> list[str]:
    counts = lives.failures.groupby("mode")["n_units"].sum()
    return sorted(map(str, counts.index), key=lambda mode: (-counts[mode], mode))


def by_mode(lives: Lives, curve: SurvivalCurve) -> tuple[list[Row], list[Row]]:
    """Return each mode at one age, and the commonest modes by age.

    Parameters
    ----------
    lives : Lives
    curve : SurvivalCurve

    Returns
    -------
    modes : list of dict
        mode, label, n_failed, incidence, low, high, age_days: at an age that enough
        units were seen at; commonest first.
    incidence : list of dict
        mode, label, age_days, incidence, low, high, n_failed (by that age), one for
        each age at which a unit failed; all but the commonest modes as one.
    """
    names = _by_number(lives)
    if not names:
        return [], []
    failed = lives.of_modes(names)
    share = _incidence(lives, failed)
    age = horizon_of(curve) or lives.largest_age
    at = max(int(np.searchsorted(lives.age, age, side="right")) - 1, 0)
    values = zip(
        names,
        failed.sum(axis=0).tolist(),
        share.incidence[at].tolist(),
        share.low[at].tolist(),
        share.high[at].tolist(),
        strict=True,
    )
    modes: list[Row] = [
        {
            "mode": name,
            "label": _label(name),
            "n_failed": n_failed,
            "incidence": value,
            "low": low,
            "high": high,
            "age_days": age,
        }
        for name, n_failed, value, low, high in values
    ]
    rows = _by_age(lives, names[:SHOWN_MODES], failed[:, :SHOWN_MODES], share)
    if len(names) > SHOWN_MODES:
        n_shown = failed[:, :SHOWN_MODES].sum(axis=1, keepdims=True)
        rest = np.concatenate([failed.sum(axis=1, keepdims=True) - n_shown, n_shown], 1)
        rows += _by_age(lives, [OTHERS], rest[:, :1], _incidence(lives, rest))
    return modes, rows


def _by_age(
    lives: Lives, names: list[str], failed: Counts, share: CumulativeIncidence
) -> list[Row]:
    so_far = np.cumsum(failed, axis=0)
    n_failed = lives.n_failed + lives.n_other
    steps = np.flatnonzero((n_failed > 0) | (lives.age == lives.largest_age))
    ages = lives.age[steps].tolist()
    return [
        {
            "mode": name,
            "label": _label(name),
            "age_days": age,
            "incidence": value,
            "low": low,
            "high": high,
            "n_failed": n_so_far,
        }
        for column, name in enumerate(names)
        for age, value, low, high, n_so_far in zip(
            ages,
            *(
                values[steps, column].tolist()
                for values in (share.incidence, share.low, share.high, so_far)
            ),
            strict=True,
        )
    ]


def _incidence(lives: Lives, failed: Counts) -> CumulativeIncidence:
    return cumulative_incidence(
        lives.age,
        failed,
        lives.n_censored,
        entry_age=lives.entry_age,
        n_entered=lives.n_entered,
    )


def _label(mode: str) -> str:
    known = catalogue.failure_modes()
    return known[mode].label if mode in known else "All other modes"


def without(lives: Lives, filters: Filters) -> Row | None:
    """Return what would remain if the failures asked for did not exist.

    Returns
    -------
    dict or None
        modes, sentence, rows: age_days, failed, low, high, failed_with (as it is);
        None where the filters name no failures, or no other failure remains.
    """
    if not filters.names_failures or not lives.n_other.sum():
        return None
    failed = np.stack([lives.n_failed, lives.n_other], axis=1)
    remaining = survival_without(
        lives.age,
        failed,
        lives.n_censored,
        column=0,
        entry_age=lives.entry_age,
        n_entered=lives.n_entered,
    )
    together = _incidence(lives, failed)
    shown = np.flatnonzero((lives.n_other > 0) | (lives.age == lives.largest_age))
    rows: list[Row] = [
        {
            "age_days": float(lives.age[at]),
            "failed": 1 - float(remaining.survival[at]),
            "low": 1 - float(remaining.high[at]),
            "high": 1 - float(remaining.low[at]),
            "failed_with": 1 - float(together.survival[at]),
        }
        for at in shown
    ]
    last = rows[-1]
    events = lives.events
    n_other = int(lives.n_other.sum())
    return {
        "modes": sorted(set(map(str, events["mode"]))),
        "sentence": (
            f"By {text.estimate(lives.largest_age)} days {_percent(last['failed'])} of "
            f"units would have failed without these failures (95 % interval "
            f"{_percent(last['low'])} to {_percent(last['high'])}; "
            f"{text.count(n_other)} other failures), against "
            f"{_percent(last['failed_with'])} with them. This assumes that units "
            "spared by them fail like the rest in other ways, which the data cannot "
            "show."
        ),
        "rows": rows,
    }


def _percent(share: object) -> str:
    return f"{text.estimate(100 * float(str(share)))} %"
