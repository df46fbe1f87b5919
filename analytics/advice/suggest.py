"""Likely faults of a returned charger from what is known before any measurement."""

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
import pandas as pd
from scipy import special

from analytics.advice import suggester_files
from analytics.advice.counting_blocks import CountingBlock
from analytics.advice.evaluation import (
    Evaluation,
    NotScored,
    are_enough,
    evaluate,
    evidence_bits,
)
from analytics.advice.evidence import Evidence, Floats, read_cases, read_intake
from analytics.advice.expert_prior import (
    VOLUNTEERED,
    Label,
    read_expert_table,
    table_causes,
)
from analytics.advice.fault_model import fit_model, text_settings
from analytics.advice.labelled_cases import Date, read_labelled
from analytics.advice.like_cases import index_cases
from analytics.advice.reasons import Explainer
from analytics.advice.suggester_files import Trained
from analytics.advice.suggestions import Suggestion, Suggestions
from analytics.errors import InsufficientDataError

MOST_QUESTIONS = 3
# A question worth asking: less than this is rounding.
MIN_QUESTION_BITS = 1e-6


class FaultSuggester:
    """Suggests the likely cause of a return from its intake evidence.

    Counted evidence per cause (naive Bayes in blocks) and a regression on the words,
    each block weighted; see `fit`.
    """

    def __init__(self, trained: Trained) -> None:
        self._trained = trained

    @classmethod
    def fit(
        cls,
        cases: pd.DataFrame,
        cause: Sequence[object],
        *,
        as_of: Date | None = None,
        expert_table: pd.DataFrame | None = None,
        weight: Sequence[float] | None = None,
        rng: np.random.Generator,
    ) -> "FaultSuggester":
        """Train on cases with a confirmed cause.

        Parameters
        ----------
        cases : DataFrame
            One row per case; any of `symptoms`, `symptoms_denied`,
            `intake_findings`, `charger_error_codes` (codes, `;` between),
            `symptom_text`, `model`, `environment`, `connector`, `age_days` (days),
            `opened_before_arrival`, and `received_on`, `confirmed_on` (dates),
            `serial`. Without `received_on` the order of rows is the order of time.
        cause : sequence of text or int, None where not confirmed
            Unlabelled cases are dropped and counted.
        as_of : date, optional
            Cases received or confirmed later are left out and counted.
        expert_table : DataFrame, optional
            Columns `kind`, `code`, `cause`, `probability`, optionally `component`.
        weight : sequence of float, optional
            How far each label is trusted in P(evidence | cause), 0 to 1. All labels
            count alike in how often a cause occurs.
        rng : Generator
            Orders the cases of one day, and draws what chance does to the scores.

        Raises
        ------
        InsufficientDataError
            No labelled case and no expert table.
        ValueError
            Lengths differ, or a cell, label, weight or expert table is malformed.
        """
        intake = read_labelled(
            cases,
            cause,
            as_of=as_of,
            more_causes=table_causes(expert_table),
            weight=weight,
            rng=rng,
        )
        if not intake.causes:
            raise InsufficientDataError("labelled cases", needed=1, found=0)
        expert = read_expert_table(expert_table, intake.causes)
        labelled = intake.labelled
        model = fit_model(labelled, expert, text_settings(labelled))
        return cls(
            Trained(
                causes=intake.causes,
                model=model,
                like=index_cases(model.blocks, labelled.evidence, labelled.cause),
                n_cases=len(labelled),
                n_unlabelled=intake.n_unlabelled,
                n_after_as_of=intake.n_after_as_of,
                as_of=intake.as_of,
                has_expert_table=expert_table is not None,
                evaluation=evaluate(labelled, expert, intake.by_month, rng=rng),
            )
        )

    @property
    def causes(self) -> tuple[Label, ...]:
        """All causes that can be suggested, in the order of the columns."""
        return self._trained.causes

    @property
    def n_cases(self) -> int:
        """Labelled cases behind the suggestions."""
        return self._trained.n_cases

    @property
    def n_unlabelled(self) -> int:
        """Cases dropped because no cause was confirmed."""
        return self._trained.n_unlabelled

    @property
    def n_after_as_of(self) -> int:
        """Cases left out because they were received or confirmed after `as_of`."""
        return self._trained.n_after_as_of

    @property
    def as_of(self) -> str | None:
        """Last day the training knows, ISO 8601; None without dates."""
        return self._trained.as_of

    @property
    def prior(self) -> dict[Label, float]:
        """Share of each cause before any evidence, as `evaluation.is_enough` wants."""
        shares = np.exp(self._trained.model.log_prior).tolist()
        return dict(zip(self.causes, shares, strict=True))

    @property
    def age_edges(self) -> tuple[float, ...]:
        """Days at which the bins of age begin and end; empty without ages."""
        blocks = self._trained.model.blocks
        return next(block.edges for block in blocks if block.name == "age")

    @property
    def weights(self) -> dict[str, float]:
        """Weight of each block of evidence, `text` last."""
        model = self._trained.model
        names = [*(block.name for block in model.blocks), "text"]
        return dict(zip(names, model.weights.tolist(), strict=True))

    @property
    def half_life(self) -> float | None:
        """Half-life of the prior in days (cases, without dates); None: no decay."""
        return self._trained.model.half_life

    @property
    def source(self) -> str:
        """What the suggestions rest on, in words."""
        own = f"{self.n_cases} own case{'' if self.n_cases == 1 else 's'}"
        if self._trained.has_expert_table:
            return f"from the expert table, {own}"
        return f"from {own}"

    @property
    def evaluation(self) -> Evaluation | None:
        """How good suggestions were on the newest cases; None with too few."""
        found = self._trained.evaluation
        return None if isinstance(found, NotScored) else found

    @property
    def not_scored(self) -> NotScored | None:
        """Why there is no evaluation; None if there is one."""
        found = self._trained.evaluation
        return found if isinstance(found, NotScored) else None

    def suggest(
        self,
        intake: Mapping[str, object] | pd.Series | pd.DataFrame,
        *,
        top: int = 5,
        with_reasons: bool = True,
    ) -> Suggestions:
        """Rank the causes of one case.

        Parameters
        ----------
        intake : mapping, Series or DataFrame of one row
            Fields as the columns of `fit`; absent means unknown.
        top : int
            How many causes to return, at least 1.
        with_reasons : bool
            Without, the causes are only ranked; `Suggestions.reasons_of` gives the
            reasons of a pair when asked.
        """
        if top < 1:
            raise ValueError(f"top is at least 1, got {top}")
        trained = self._trained
        evidence = read_intake(intake)
        why = Explainer(trained.model, evidence)
        log_p = why.log_p
        p = np.exp(log_p[0])
        order = np.argsort(-p, kind="stable").tolist()
        n_like = trained.like.count(trained.model.blocks, evidence)
        ranked = [
            Suggestion(
                self.causes[cause],
                float(p[cause]),
                why.reasons(cause, other) if with_reasons and other is not None else (),
                None if other is None else self.causes[other],
                int(n_like[cause]),
            )
            for cause, other in _compared(order, top)
        ]
        return Suggestions(
            ranked=tuple(ranked),
            enough_evidence=bool(are_enough(log_p, trained.model.log_prior)[0]),
            evidence_bits=float(evidence_bits(log_p, trained.model.log_prior)[0]),
            ask_next=_ask_next(trained.model.blocks[0], p, evidence),
            n_cases=self.n_cases,
            source=self.source,
            probabilities=dict(zip(self.causes, p.tolist(), strict=True)),
            _explainer=why,
        )

    def n_like(self, intake: Mapping[str, object]) -> dict[Label, int]:
        """Return how many cases of each cause are like one case."""
        trained = self._trained
        counts = trained.like.count(trained.model.blocks, read_intake(intake))
        return dict(zip(self.causes, counts.tolist(), strict=True))

    def probabilities(self, cases: pd.DataFrame) -> pd.DataFrame:
        """Return p(cause | evidence): rows as `cases`, a column per cause, sums 1."""
        log_p = self._trained.model.log_probabilities(read_cases(cases))
        return pd.DataFrame(np.exp(log_p), index=cases.index, columns=list(self.causes))

    def save(self, folder: str | Path) -> None:
        """Write the suggester into a folder, as arrays and JSON."""
        suggester_files.save(self._trained, Path(folder))

    @classmethod
    def load(cls, folder: str | Path) -> "FaultSuggester":
        """Read a saved suggester; no code in the files is run.

        Raises
        ------
        ValueError
            Files missing, damaged or of another schema: train again.
        """
        return cls(suggester_files.load(Path(folder)))


def _compared(order: list[int], top: int) -> list[tuple[int, int | None]]:
    """Return the likeliest causes, each with the cause it is compared with."""
    if len(order) == 1:
        return [(order[0], None)]
    return [(c, order[1] if c == order[0] else order[0]) for c in order[:top]]


def _ask_next(sym: CountingBlock, p: Floats, evidence: Evidence) -> tuple[str, ...]:
    # Expected information of a yes or no: H(answer) - H(answer | cause).
    # People volunteer only part of what they have seen; asked, they tell the rest.
    known = evidence.symptoms[0] | evidence.denied[0]
    yes = np.clip(np.exp(sym.log_p) / VOLUNTEERED, 0.0, 1.0)
    bits = (_binary_entropy(p @ yes) - p @ _binary_entropy(yes)) / np.log(2)
    order = np.argsort(-bits, kind="stable").tolist()
    open_ = [i for i in order if sym.codes[i] not in known]
    telling = [sym.codes[i] for i in open_ if bits[i] > MIN_QUESTION_BITS]
    return tuple(telling[:MOST_QUESTIONS])


def _binary_entropy(p: Floats) -> Floats:
    return np.asarray(special.entr(p) + special.entr(1 - p))
