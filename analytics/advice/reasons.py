"""Why one cause is likelier than another, in pieces that add up to the log-odds."""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from analytics.advice.counting_blocks import CountingBlock, opened_factor, pieces
from analytics.advice.evidence import Evidence
from analytics.advice.fault_model import FaultModel
from analytics.advice.text_block import ReadText

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
    """Weighs one case, and gives its reasons for any pair of causes.

    Parameters
    ----------
    model : FaultModel
    evidence : Evidence
        Of one case. What is unknown, or was never seen in training, is no reason.
    """

    def __init__(self, model: FaultModel, evidence: Evidence) -> None:
        self._model = model
        self._text = evidence.text[0]
        # Once for the scores and the words: these are the slow part.
        self._features = (
            model.text.features([self._text]) if model.text and self._text else None
        )
        scores = model.block_scores(evidence, self._features)
        self._text_scores = scores[-1][0]
        self.log_p = model.log_probabilities_of(scores)
        self._evidence = evidence

    @cached_property
    def _words(self) -> ReadText | None:
        if not self._model.text or not self._text_scores.any():
            return None
        return self._model.text.read(self._text, self._features)

    @cached_property
    def _carried(self) -> list["_Carried"]:
        model = self._model
        return [
            _carried(block, float(weight), self._evidence)
            for block, weight in zip(model.blocks, model.weights, strict=False)
        ]

    def reasons(self, one: int, other: int) -> tuple[Reason, ...]:
        """Return why cause `one` against `other` (indices), strongest first."""
        model = self._model
        prior = float(model.log_prior[one] - model.log_prior[other])
        reasons = [Reason("prior", STATES["prior"], "", prior)]
        for carried in self._carried:
            reasons += _of_block(carried, one, other)
        if model.text and self._words:
            away = model.text.coefficients_of(one) - model.text.coefficients_of(other)
            words = self._words.strongest(away)[:MOST_WORDS]
            quoted = ", ".join(word for word, _ in words)
            log_odds = float(
                model.weights[-1] * (self._text_scores[one] - self._text_scores[other])
            )
            reasons.append(
                Reason("text", STATES["text"], quoted, log_odds, words=tuple(words))
            )
        return tuple(sorted(reasons, key=lambda r: (-abs(r.log_odds), r.block, r.code)))


@dataclass(frozen=True, slots=True)
class _Carried:
    """What a case carries of one block.

    `codes` are indices, `factor` what the block counts; `looked` tells that codes of
    the block that it does not carry are known to be absent.
    """

    block: CountingBlock
    codes: list[int]
    factor: float
    looked: bool


def _carried(block: CountingBlock, weight: float, evidence: Evidence) -> _Carried:
    carried = pieces(block.name, evidence, block.edges)[0]
    tells_absence = block.log_not is not None
    return _Carried(
        block=block,
        codes=[i for i, code in enumerate(block.codes) if code in carried],
        factor=weight * (float(opened_factor(evidence)[0]) if tells_absence else 1.0),
        looked=tells_absence and bool(evidence.inspected[0]),
    )


def _of_block(carried: _Carried, one: int, other: int) -> list[Reason]:
    block, known, factor = carried.block, carried.codes, carried.factor
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
    if block.log_not is not None and carried.looked:
        absent = np.delete(block.log_not[one] - block.log_not[other], known)
        rest = "any of the others" if known else "any"
        reasons.append(
            Reason(block.name, NOT_FOUND, rest, factor * float(absent.sum()))
        )
    return reasons
