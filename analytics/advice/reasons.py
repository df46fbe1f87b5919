"""Why one cause is likelier than another, in pieces that add up to the log-odds."""

import math
from dataclasses import dataclass

import numpy as np

from analytics.advice.counting_blocks import CountingBlock, opened_factor, pieces
from analytics.advice.evidence import Evidence
from analytics.advice.fault_model import FaultModel

STATES = {
    "prior": "how often it was confirmed",
    "sym": "reported",
    "symno": "answered no",
    "find": "found",
    "err": "error word",
    "model": "model",
    "env": "environment",
    "conn": "connector",
    "age": "age",
    "text": "words",
}
NOT_FOUND = "not found"
MOST_WORDS = 5
TIMES = "\N{MULTIPLICATION SIGN}"


@dataclass(frozen=True, slots=True)
class Reason:
    """One piece of evidence for a cause, against the cause it is compared with.

    `log_odds` above 0 speaks for the cause; the log-odds of all reasons add up to
    ln(p of the cause / p of the other). `n_seen` of `n_of` labelled cases of the
    cause carry the evidence, `n_seen_other` of `n_of_other` of the other cause; None
    where there is nothing to count. `words` are the strongest words of a text with
    what each adds; they rank, they do not add up.
    """

    block: str
    state: str
    code: str
    log_odds: float
    n_seen: int | None = None
    n_of: int | None = None
    n_seen_other: int | None = None
    n_of_other: int | None = None
    words: tuple[tuple[str, float], ...] = ()

    @property
    def factor(self) -> float:
        """By how much the odds are multiplied."""
        return math.exp(self.log_odds)

    @property
    def counts(self) -> str:
        """How often it was seen with this cause, in words; "" without a count."""
        if self.n_seen is None or self.n_of is None:
            return ""
        if not self.n_of:
            return "no own case"
        return f"seen in {self.n_seen} of {self.n_of}"

    @property
    def sentence(self) -> str:
        """The reason in one line: what, which way and how strongly, how often."""
        what = f"{self.state} {self.code}".rstrip()
        side = "for" if self.log_odds >= 0 else "against"
        counts = f" ({self.counts})" if self.counts else ""
        return f"{what}: {TIMES}{self.factor:.2g} {side}{counts}"


class Explainer:
    """Gives the reasons of one case for any pair of causes.

    Parameters
    ----------
    model : FaultModel
    evidence : Evidence
        Of one case. What is unknown, or was never seen in training, is no reason.
    """

    def __init__(self, model: FaultModel, evidence: Evidence) -> None:
        self._model = model
        self._evidence = evidence
        # Read once: the words are the slow part.
        text = evidence.text[0]
        self._read = model.text.read(text) if model.text and text else None
        self._text_scores = (
            model.text.scores(evidence.text, len(model.log_prior))[0]
            if model.text
            else np.zeros(len(model.log_prior))
        )

    def reasons(self, one: int, other: int) -> tuple[Reason, ...]:
        """Return why cause `one` against `other` (indices), strongest first."""
        model = self._model
        prior = float(model.log_prior[one] - model.log_prior[other])
        reasons = [Reason("prior", STATES["prior"], "", prior)]
        for block, weight in zip(model.blocks, model.weights, strict=False):
            reasons += _of_block(block, float(weight), self._evidence, one, other)
        if model.text and self._read and self._text_scores.any():
            away = model.text.coefficients_of(one) - model.text.coefficients_of(other)
            words = self._read.strongest(away)[:MOST_WORDS]
            quoted = ", ".join(word for word, _ in words)
            log_odds = float(
                model.weights[-1] * (self._text_scores[one] - self._text_scores[other])
            )
            reasons.append(
                Reason("text", STATES["text"], quoted, log_odds, words=tuple(words))
            )
        return tuple(sorted(reasons, key=lambda r: (-abs(r.log_odds), r.block, r.code)))


def _of_block(
    block: CountingBlock, weight: float, evidence: Evidence, one: int, other: int
) -> list[Reason]:
    carried = pieces(block.name, evidence, block.edges)[0]
    factor = weight
    if block.log_not is not None:
        factor *= float(opened_factor(evidence)[0])
    known = [i for i, code in enumerate(block.codes) if code in carried]
    reasons = [
        Reason(
            block.name,
            STATES[block.name],
            block.codes[i],
            factor * float(block.log_p[one, i] - block.log_p[other, i]),
            n_seen=int(block.n_seen[one, i]),
            n_of=int(block.n_of[one, i]),
            n_seen_other=int(block.n_seen[other, i]),
            n_of_other=int(block.n_of[other, i]),
        )
        for i in known
    ]
    if block.log_not is not None and evidence.inspected[0]:
        absent = np.delete(block.log_not[one] - block.log_not[other], known)
        rest = "any of the others" if known else "any"
        reasons.append(
            Reason(block.name, NOT_FOUND, rest, factor * float(absent.sum()))
        )
    return reasons
