"""What the scores of the suggestions say, in sentences."""

from analytics.advice.evaluation import Evaluation
from analytics.statistics.intervals import binomial_interval
from dashboard import text

FEW_SCORED = 100  # limits of a share are then up to 10 points away
MANY_REPEATED = 0.1  # of the scored texts
NOT_KEPT = (
    "What was asked at the bench is not kept: of suggestions given while a cause was "
    "open, those kept at each publish are followed up."
)


def answer(found: Evaluation) -> str:
    """Return how often the mode was named first, and among the first three."""
    n = found.n_scored
    return (
        f"Of the newest {text.counted(n, 'confirmed case')} the mode was named first "
        f"in {_share(found.suggester.n_top_1, n)} and stood among the first three in "
        f"{_share(found.suggester.n_top_3, n)}. How often each mode occurs, without "
        f"any evidence, names it first in {_share(found.class_shares.n_top_1, n)}."
    )


def calibration(found: Evaluation) -> str:
    """Return whether the shares shown can be read as they are."""
    scores = found.suggester
    error, chance = scores.calibration_error, scores.calibration_by_chance
    counted = (
        f"Calibration error {text.estimate(error)} over "
        f"{text.counted(found.n_scored, 'case')}; a suggester whose shares are exactly "
        f"right shows up to {text.estimate(chance)} by chance alone."
    )
    if error <= chance:
        return (
            f"The data do not show that the shares are wrong: {_lower(counted)} "
            f"Differences smaller than that cannot be seen."
        )
    curve = found.calibration
    sure = float((curve.mean * curve.n).sum()) / found.n_scored
    way = "too high" if sure > scores.top_1 else "too low"
    return (
        f"The shares are {way} on the whole (mean {text.share(sure, found.n_scored)}, "
        f"right {text.share(scores.top_1, found.n_scored)}): read them as an order, "
        f"not as odds. {counted}"
    )


def answered(found: Evaluation) -> str:
    """Return what staying silent on too little evidence saves."""
    n, n_answered = found.n_scored, found.n_answered
    if not n_answered:
        return "In none of the cases was the evidence enough to name a mode."
    told = (
        f"The evidence was enough to name a mode in {_share(n_answered, n)}; of these "
        f"{_share(found.n_answered_right, n_answered)} were named right"
    )
    n_silent = n - n_answered
    if not n_silent:
        return f"{told}."
    return (
        f"{told}. Of the {text.counted(n_silent, 'other')} it would have been "
        f"{_share(found.n_silent_right, n_silent)}."
    )


def notes(found: Evaluation) -> list[str]:
    """Return what to keep in mind, a sentence each."""
    said = [NOT_KEPT]
    if len(found.causes.cause) == 1:
        said.append(
            "Only one mode is among the cases scored: nothing had to be told apart, "
            "and the shares right say little."
        )
    if found.n_scored < FEW_SCORED:
        said.append(
            f"Only {text.counted(found.n_scored, 'case')} are scored: the intervals "
            f"are wide. From {FEW_SCORED} on they are within about 10 points."
        )
    if found.n_repeated_texts > MANY_REPEATED * found.n_scored:
        said.append(
            f"{text.count(found.n_repeated_texts)} of the cases scored have the very "
            "words of an older case: returns written in new words may fare worse."
        )
    said.append(
        f"Best divisor of the log-odds {text.estimate(found.temperature)} (above 1: "
        "too sure, below 1: too cautious); told, not applied."
    )
    return said


def _share(n: int, n_of: int) -> str:
    low, high = binomial_interval(n, n_of)
    limits = text.share_interval(float(low), float(high), n_of)
    return f"{text.share(n / n_of, n_of)} ({text.count(n)}; 95 % interval {limits})"


def _lower(sentence: str) -> str:
    return sentence[0].lower() + sentence[1:]
