"""What the outcome of a check says about the causes."""

import math
from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from analytics.advice.checks_at_hand import (
    CheckAtHand,
    CheckTable,
    checks_at_hand,
)

# What a fail leaves of the causes its check confirms when their isolation found
# nothing; from the study behind the ranking, a guess.
NOT_ISOLATED_FACTOR = 0.03
NOT_ISOLATED = "fail_not_isolated"
_SUM_TOLERANCE = 1e-6
# Below this a gain is rounding; it must not decide between checks.
_ROUNDING_BITS = 1e-12


def expected_information(prior: npt.ArrayLike, likelihood: npt.ArrayLike) -> float:
    """Return how many bits an observation is expected to tell about the cause.

    Parameters
    ----------
    prior : array_like, shape (m,)
        Probability of each cause; sums to 1.
    likelihood : array_like, shape (o, m)
        P(outcome | cause); each column sums to 1.

    Returns
    -------
    float
        Entropy before less the mean entropy after, in bits; never negative.

    Raises
    ------
    ValueError
        If shapes do not fit or something is no probability.
    """
    causes = np.asarray(prior, dtype=float)
    given = np.asarray(likelihood, dtype=float)
    if causes.ndim != 1 or given.ndim != 2 or given.shape[1] != causes.size:  # noqa: PLR2004 - outcomes by causes
        raise ValueError(
            "likelihood must have one row per outcome and one column per cause; got"
            f" prior {causes.shape}, likelihood {given.shape}"
        )
    sums = np.concatenate([[causes.sum()], given.sum(axis=0)])
    if not (np.all(causes >= 0) and np.all(given >= 0)):
        raise ValueError("a probability is negative or not a number")
    if np.any(np.abs(sums - 1) > _SUM_TOLERANCE):
        raise ValueError("the prior and each cause's outcomes must sum to 1")
    joint = given * causes
    gain = _bits(causes) + _bits(joint.sum(axis=1)) - _bits(joint.ravel())
    return gain if gain > _ROUNDING_BITS else 0.0


def _bits(shares: npt.NDArray[np.float64]) -> float:
    positive = shares[shares > 0]
    return float(-(positive * np.log2(positive)).sum())


def update_probabilities(
    probabilities: Mapping[str, float],
    check_table: CheckTable,
    outcomes: Mapping[str, str | float],
) -> dict[str, float]:
    """Return the probabilities of the causes after the outcomes of checks.

    Parameters
    ----------
    probabilities : mapping of str to float
        As known at intake, before any check; need not sum to 1.
    check_table : DataFrame or ChecksAtHand
        As `next_check` takes it.
    outcomes : mapping of str to (str or float)
        The last outcome of each check, once: `pass`, `fail`, `fail_not_isolated`
        (failed, and what must be good or bad beside it spoke against the causes it
        confirms), or the probability that it failed, as a reading near its limit
        gives. Any other word (not_done, undefined, incomplete), nan, and a check
        that is not in the table change nothing.

    Returns
    -------
    dict of str to float
        Same causes in the same order; sums to 1.

    Raises
    ------
    ValueError
        If nothing is possible after the outcomes, or a probability is no such.
    """
    causes, shares = normalised(probabilities)
    at_hand = checks_at_hand(check_table)
    for code, outcome in outcomes.items():
        if code in at_hand:
            shares = shares * check_factors(at_hand[code], causes, outcome)
    total = shares.sum()
    if not total > 0:
        raise ValueError(
            "no cause is possible after these outcomes; a probability of 0 or 1 in"
            " the check table rules every cause out"
        )
    return dict(zip(causes, (shares / total).tolist(), strict=True))


def check_factors(
    check: CheckAtHand, causes: list[str], outcome: str | float
) -> npt.NDArray[np.float64]:
    """Return by what the outcome of a check multiplies the share of each cause.

    Parameters
    ----------
    check : CheckAtHand
    causes : list of str
    outcome : str or float
        As `update_probabilities` takes it.

    Raises
    ------
    ValueError
        If a number is no probability.
    """
    p_fail = check.p_fail_of(causes)
    if isinstance(outcome, str):
        confirmed = check.confirms_of(causes)
        return {
            "pass": 1 - p_fail,
            "fail": p_fail,
            NOT_ISOLATED: np.where(confirmed, NOT_ISOLATED_FACTOR, p_fail),
        }.get(outcome, np.ones(len(causes)))
    if math.isnan(outcome):
        return np.ones(len(causes))
    if not 0 <= outcome <= 1:
        raise ValueError(f"{check.code}: {outcome} is no probability of a fail")
    return outcome * p_fail + (1 - outcome) * (1 - p_fail)


def normalised(
    probabilities: Mapping[str, float],
) -> tuple[list[str], npt.NDArray[np.float64]]:
    """Return causes and their shares, which sum to 1.

    Raises
    ------
    ValueError
        If one is negative or not finite, or all are 0.
    """
    causes = list(probabilities)
    shares = np.array([probabilities[cause] for cause in causes], dtype=float)
    if not (np.all(np.isfinite(shares)) and np.all(shares >= 0) and shares.sum() > 0):
        raise ValueError(
            "probabilities must not be negative, and one at least must be above 0"
        )
    return causes, shares / shares.sum()
