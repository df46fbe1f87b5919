"""Which of several laws fitted to the same lives describes them best."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from analytics.statistics.life_fit import LifeFit

TIE = 2.0  # of AICc: no law is preferred on less


@dataclass(frozen=True, slots=True)
class LawChoice:
    """The laws by AICc with n = failures; smaller is better."""

    best: str | None  # None: too few failures to tell
    aicc: dict[str, float]  # in the order of the fits; nan where n is too small
    tied: tuple[str, ...]  # within 2 of the best, best first; all where none is best


def choose_law(fits: Mapping[str, LifeFit]) -> LawChoice:
    """Compare laws fitted to the same counts.

    Parameters
    ----------
    fits : mapping of name to LifeFit
        All of the same counts.

    Returns
    -------
    LawChoice
        Without a best law where the failures are too few for the criterion of any of
        the laws: with p parameters it needs p + 2.

    Raises
    ------
    ValueError
        No fit at all, or fits of different counts.

    Notes
    -----
    AICc = 2 p - 2 ln L + 2 p (p + 1) / (n - p - 1) (Hurvich and Tsai 1989 (from
    memory)). With n = all units, a million survivors would erase the correction, though
    they say little of the shape. Checked against the log-likelihoods printed in
    tests/published/test_nist_weibull.py.
    """
    if not fits:
        raise ValueError("no fit to choose from")
    counts = {(fit.n_failed, fit.n_units) for fit in fits.values()}
    if len(counts) > 1:
        raise ValueError(f"fits of different counts (failed, units): {sorted(counts)}")
    aicc = {name: _aicc(fit) for name, fit in fits.items()}
    if np.isnan(list(aicc.values())).any():
        return LawChoice(best=None, aicc=aicc, tied=tuple(aicc))
    ranked = sorted(aicc, key=aicc.__getitem__)
    least = aicc[ranked[0]]
    tied = tuple(name for name in ranked if aicc[name] - least < TIE)
    return LawChoice(best=ranked[0], aicc=aicc, tied=tied)


def _aicc(fit: LifeFit) -> float:
    p, spare = len(fit.parameters), fit.n_failed - len(fit.parameters) - 1
    if spare <= 0:
        return float("nan")
    return 2 * p - 2 * fit.log_likelihood + 2 * p * (p + 1) / spare
