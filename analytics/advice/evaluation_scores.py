"""How good probabilities of causes are in one number each."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from analytics.advice.evaluation_curves import calibration_by_chance, calibration_error
from analytics.advice.evidence import Floats, Integers


@dataclass(frozen=True, slots=True)
class Scores:
    """Shares right and loss of one way of suggesting, over the same cases."""

    top_1: float
    top_3: float
    log_loss: float  # nats per case
    calibration_error: float
    n_top_1: int
    n_top_3: int
    log_loss_error: float  # standard error of the mean; nan with one case
    calibration_by_chance: float  # 95 % of calibrated suggesters show less


def top_k_accuracy(probabilities: ArrayLike, truth: ArrayLike, *, k: int) -> float:
    """Return the share of cases whose true cause is among the k likeliest.

    Parameters
    ----------
    probabilities : array of float, shape (n, m)
    truth : array of int, shape (n,)
        Column of the true cause.
    k : int
        A cause that ties with the true one counts as ranked before it.
    """
    p, true = _checked(probabilities, truth)
    not_below = (p >= p[np.arange(len(true)), true][:, None]).sum(axis=1)
    return float((not_below <= k).mean())


def log_loss(probabilities: ArrayLike, truth: ArrayLike) -> float:
    """Return the mean of -ln p(true cause), in nats; shapes as `top_k_accuracy`."""
    p, true = _checked(probabilities, truth)
    with np.errstate(divide="ignore"):
        return float(-np.log(p[np.arange(len(true)), true]).mean())


def scores_of(p: Floats, truth: Integers, rng: np.random.Generator) -> Scores:
    """Score probabilities (n, m) against the columns of the true causes (n,)."""
    n = len(truth)
    top_1, top_3 = (top_k_accuracy(p, truth, k=k) for k in (1, 3))
    sure = p.max(axis=1)
    loss = -np.log(p[np.arange(n), truth])
    return Scores(
        top_1=top_1,
        top_3=top_3,
        log_loss=log_loss(p, truth),
        calibration_error=calibration_error(sure, p.argmax(axis=1) == truth),
        n_top_1=round(top_1 * n),
        n_top_3=round(top_3 * n),
        log_loss_error=float(loss.std(ddof=1) / np.sqrt(n)) if n > 1 else float("nan"),
        calibration_by_chance=calibration_by_chance(sure, rng=rng),
    )


def _checked(probabilities: ArrayLike, truth: ArrayLike) -> tuple[Floats, Integers]:
    p = np.asarray(probabilities, dtype=float)
    true = np.asarray(truth, dtype=np.int64)
    if p.ndim != 2 or true.shape != p.shape[:1] or not len(true):  # noqa: PLR2004 - rows and columns
        raise ValueError(f"one true column per row: {p.shape}, {true.shape}")
    return p, true
