"""What a suggestion consists of."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from analytics.advice.expert_prior import Label
from analytics.advice.reasons import Explainer, Reason


@dataclass(frozen=True, slots=True)
class Suggestion:
    """One likely cause; unpacks as (cause, probability, reasons).

    `reasons` compare the cause with `against`: the likeliest cause with the
    runner-up, every other cause with the likeliest. Their log-odds add up to
    ln(probability / probability of `against`). With a single cause there is nothing
    to compare: `against` is None and `reasons` are empty, as they are where only the
    ranking was asked for.

    `n_like` counts the labelled cases of this cause that share at least one reported
    symptom, finding or error word with the intake, each case once; where the intake
    has none of these, that share a symptom answered no, the model, the environment,
    the connector or the age bin.
    """

    cause: Label
    probability: float
    reasons: tuple[Reason, ...]
    against: Label | None
    n_like: int

    def __iter__(self) -> Iterator[Label | float | tuple[Reason, ...]]:
        return iter((self.cause, self.probability, self.reasons))

    def __len__(self) -> int:
        return 3

    def __getitem__(self, position: int) -> Label | float | tuple[Reason, ...]:
        return (self.cause, self.probability, self.reasons)[position]


@dataclass(frozen=True, slots=True)
class Suggestions:
    """The likely causes of one case, likeliest first.

    `enough_evidence` is False where the likeliest cause has under 0.30 or all
    evidence together moved the shares by under 1 bit (`evidence_bits`): then the
    order is little more than how often each cause occurs. `ask_next` holds up to
    three symptoms not asked yet, the most telling first. `probabilities` has every
    cause.
    """

    ranked: tuple[Suggestion, ...]
    enough_evidence: bool
    evidence_bits: float
    ask_next: tuple[str, ...]
    n_cases: int
    source: str
    probabilities: dict[Label, float]
    _explainer: Explainer = field(repr=False, compare=False)

    def reasons_of(self, cause: Label, against: Label) -> tuple[Reason, ...]:
        """Return what speaks for a cause against any other, strongest first.

        The log-odds add up to ln(probability / probability of `against`).

        Raises
        ------
        ValueError
            There is no such cause.
        """
        causes = list(self.probabilities)
        return self._explainer.reasons(causes.index(cause), causes.index(against))
