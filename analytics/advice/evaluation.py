"""How good the suggestions are, measured on cases the model has not seen."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from scipy import optimize, special

from analytics.advice.evaluation_curves import (
    ByCause,
    CalibrationCurve,
    RiskCoverage,
    by_cause,
    calibration_curve,
    calibration_error,
    risk_coverage,
)
from analytics.advice.evaluation_scores import Scores, scores_of
from analytics.advice.evidence import Flags, Floats, Integers
from analytics.advice.expert_prior import ExpertPrior
from analytics.advice.fault_model import (
    MIN_CASES_TO_WEIGH,
    MIN_OLDER_TO_WEIGH,
    decayed_log_prior,
    fit_unweighted,
    text_settings,
    weigh,
)
from analytics.advice.labelled_cases import NEWEST, LabelledCases, month_of

Cause = TypeVar("Cause")

MOST_TEMPERATURE = 5.0  # beyond, the model is wrong rather than too sure

# Abstaining: below either limit the evidence is called not enough.
MIN_TOP_PROBABILITY = 0.30
MIN_EVIDENCE_BITS = 1.0


@dataclass(frozen=True, slots=True)
class Month:
    """One month of receipt: how many cases, how many without a confirmed cause.

    `n_scored`, `top_1` and `calibration_error` are of the cases scored in that
    month; the two figures are nan where none was.
    """

    month: str
    n_cases: int
    n_unlabelled: int
    n_scored: int
    n_right: int
    top_1: float
    calibration_error: float


@dataclass(frozen=True, slots=True)
class Evaluation:
    """The newest confirmed cases, suggested by a model fitted on older ones.

    Among confirmed cases only: those never confirmed are the harder ones, so their
    share is given by month. `class_shares` knows no evidence, only how often each
    cause was confirmed before.
    """

    suggester: Scores
    class_shares: Scores
    n_fitted: int
    n_weighed: int
    n_scored: int
    n_repeated_texts: int  # of the scored, whose very words are among the fitted
    temperature: float  # best divisor of the log-odds, told and not applied; 1 is best
    answered: float  # share with enough evidence
    answered_top_1: float  # share right among these, nan where there is none
    n_answered: int
    n_answered_right: int
    n_silent_right: int  # of the others, had the likeliest cause been named
    calibration: CalibrationCurve
    coverage: RiskCoverage
    causes: ByCause
    months: tuple[Month, ...]


@dataclass(frozen=True, slots=True)
class NotScored:
    """Why suggestions could not be scored: of what too few were found."""

    what: str
    needed: int
    found: int


def evidence_bits(log_p: Floats, log_prior: Floats) -> Floats:
    """Return how far the evidence moved each case from the prior, in bits (n,).

    Kullback-Leibler divergence of the posterior (n, m) from the prior (m,).
    """
    return np.asarray((np.exp(log_p) * (log_p - log_prior)).sum(axis=1) / np.log(2))


def are_enough(log_p: Floats, log_prior: Floats) -> Flags:
    """Tell for each case whether its evidence is enough to name a cause.

    Shapes as `evidence_bits`.
    """
    sure = np.exp(log_p.max(axis=1)) >= MIN_TOP_PROBABILITY
    return np.asarray(sure & (evidence_bits(log_p, log_prior) >= MIN_EVIDENCE_BITS))


def is_enough(posterior: Mapping[Cause, float], prior: Mapping[Cause, float]) -> bool:
    """Tell whether what is known of one case is enough to name a cause.

    Parameters
    ----------
    posterior : mapping of cause to probability
        After the intake, or after the readings too.
    prior : mapping of cause to probability
        Before any evidence, of the same causes; each above 0.

    Returns
    -------
    bool
        The likeliest cause has 0.30 or more, and the evidence moved the shares by 1
        bit or more.

    Raises
    ------
    ValueError
        Other causes in one mapping than in the other, or none.
    """
    if not posterior or posterior.keys() != prior.keys():
        raise ValueError(
            f"one prior per cause: {len(posterior)} causes, {len(prior)} priors"
        )
    causes = list(posterior)
    p = np.array([posterior[cause] for cause in causes])
    # A cause that the readings ruled out has probability 0 and adds no bits.
    log_p = np.log(np.maximum(p, np.finfo(float).tiny))
    log_prior = np.log([prior[cause] for cause in causes])
    return bool(are_enough(log_p[None, :], log_prior)[0])


def evaluate(
    labelled: LabelledCases,
    expert: ExpertPrior,
    by_month: dict[str, tuple[int, int]],
    *,
    rng: np.random.Generator,
) -> Evaluation | NotScored:
    """Fit on the oldest 70 %, weigh on the next 15 %, score on the newest 15 %.

    Not scored are fewer than 200 labelled cases, or too few on the older side once
    later confirmations and units of the newer side are taken out.
    """
    if len(labelled) < MIN_CASES_TO_WEIGH:
        return NotScored("confirmed cases", MIN_CASES_TO_WEIGH, len(labelled))
    before, newest = labelled.split()
    older, middle = before.split(NEWEST / (1 - NEWEST))
    if len(older) < MIN_OLDER_TO_WEIGH:
        what = "older cases, confirmed before the newer ones came in"
        return NotScored(what, MIN_OLDER_TO_WEIGH, len(older))
    model = weigh(fit_unweighted(older, expert, text_settings(older)), older, middle)
    log_p = model.log_probabilities(newest.evidence)
    p, truth = np.exp(log_p), newest.cause
    shares = np.exp(decayed_log_prior(before, expert.n_causes, None))
    sure, right = p.max(axis=1), p.argmax(axis=1) == truth
    enough = are_enough(log_p, model.log_prior)
    known = {*older.evidence.text} - {""}
    return Evaluation(
        suggester=scores_of(p, truth, rng),
        class_shares=scores_of(np.tile(shares, (len(newest), 1)), truth, rng),
        n_fitted=len(older),
        n_weighed=len(middle),
        n_scored=len(newest),
        n_repeated_texts=sum(text in known for text in newest.evidence.text),
        temperature=_temperature(log_p, truth),
        answered=float(enough.mean()),
        answered_top_1=float(right[enough].mean()) if enough.any() else float("nan"),
        n_answered=int(enough.sum()),
        n_answered_right=int(right[enough].sum()),
        n_silent_right=int(right[~enough].sum()),
        calibration=calibration_curve(sure, right),
        coverage=risk_coverage(sure, right),
        causes=by_cause(p, truth),
        months=_months(newest, sure, right, by_month),
    )


def _temperature(log_p: Floats, truth: Integers) -> float:
    rows = np.arange(len(truth))

    def loss(log_temperature: float) -> float:
        flatter = special.log_softmax(log_p / np.exp(log_temperature), axis=1)
        return float(-flatter[rows, truth].mean())

    bounds = (-np.log(MOST_TEMPERATURE), np.log(MOST_TEMPERATURE))
    answer = optimize.minimize_scalar(loss, bounds=bounds, method="bounded")
    return float(np.exp(answer.x))


def _months(
    newest: LabelledCases,
    confidence: Floats,
    right: Flags,
    by_month: dict[str, tuple[int, int]],
) -> tuple[Month, ...]:
    month = (
        np.array([month_of(day) for day in newest.day]) if by_month else np.array([])
    )
    months = []
    for name, (n_cases, n_unlabelled) in sorted(by_month.items()):
        rows = np.flatnonzero(month == name)
        top_1 = error = float("nan")
        if len(rows):
            top_1 = float(right[rows].mean())
            error = calibration_error(confidence[rows], right[rows])
        n_right = int(right[rows].sum())
        months.append(
            Month(name, n_cases, n_unlabelled, len(rows), n_right, top_1, error)
        )
    return tuple(months)
