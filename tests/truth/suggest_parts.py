"""What the words, the decay and the weakening are worth to the fault suggestions.

Three parts of the suggester have nothing to do in the fleet as it is invented: words
repeat the symptoms that are ticked, the mix of faults hardly drifts, and whoever opened
a unit left its findings as they were. Each scene gives one part something to do, or
nothing, and holds the suggester against the same one without that part, on the same
cases: those the part can speak on. Bayes' rule knows what was told, ticked or typed (no
two symptoms share a phrase), how the mix drifts, and how often findings are another's.

Bars, set after one trial with another seed: where a part has something to do, the log
loss it saves is more than two standard errors above nought. What it costs where it has
nothing to do is told.
"""

import dataclasses
from collections.abc import Callable, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from functools import cache, partial
from unittest import mock

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.advice import fault_model
from synthetic_data.scenario import mode_laws
from synthetic_data.symptoms import Intake
from tests.truth import suggest_bayes
from tests.truth.study import Outcome, Promise, Scene
from tests.truth.suggest_fleet import Returns, draw_returns, trained

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

FAMILY = "parts"
WORDS, DECAY, WEAKENING = "words", "decay", "weakening"
N_DRAWS = 6
N_LEARNT, N_TEST = 4_000, 2_000
STILL_OPEN, MORE_OPEN = 0.25, 400  # labels come up to two months late
LEFT_OUT = 2.1  # of a mix that drifts fivefold half is shown
OPENED = 0.4  # in earnest one in twenty; more, so that something can be seen

GAIN, MORE_RIGHT = "log loss saved", "top-1 gained"
CONCERNED = "share of the cases"
WITH, WITHOUT, BAYES = "with", "without", "Bayes"
ROWS = (
    CONCERNED,
    *(f"{who}, {what}" for what in ("top-1", "log loss") for who in (WITHOUT, WITH)),
    *(f"{BAYES}, {what}" for what in ("top-1", "log loss")),
    *(MORE_RIGHT, GAIN),
)


@dataclass(frozen=True, slots=True)
class Made:
    """Returns of a scene: what the suggester sees, and Bayes' rule for the newest.

    `learnt` and `tested` are rows of `returns`; `best` is P(mode), shape (tested,
    modes); `concerns` marks the tested cases that the part can speak on.
    """

    returns: Returns
    learnt: Integers
    tested: Integers
    best: Floats
    concerns: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Paired:
    """Per case that is concerned: was the first cause right, and the log loss."""

    right: dict[str, Floats]
    loss: dict[str, Floats]
    share: float  # of all cases


def split(
    returns: Returns, shown: Integers, n_learnt: int, n_test: int
) -> tuple[Integers, Integers]:
    tested = shown[-n_test:]
    known = returns.confirmed_before(int(tested[0]))
    learnt = np.intersect1d(known, shown)[-n_learnt:]
    if len(learnt) < n_learnt:
        raise ValueError(f"only {len(learnt)} cases were confirmed, not {n_learnt}")
    return learnt, tested


def typed(
    share: float, returns: Returns, n_learnt: int, n_test: int, rng: np.random.Generator
) -> Made:
    """Of the returns with words, leave the symptoms of a share unticked."""
    learnt, tested = split(returns, np.arange(len(returns)), n_learnt, n_test)
    cases = returns.cases
    has_words = cases["symptom_text"].notna().to_numpy()
    is_bare = has_words & (rng.random(len(cases)) < share)
    return Made(
        dataclasses.replace(
            returns, cases=cases.assign(symptoms=cases["symptoms"].mask(is_bare, None))
        ),
        learnt,
        tested,
        # Words are drawn from what was told, which can be read off them.
        returns.bayes(tested),
        has_words[tested],
    )


def drifting(
    times: float, returns: Returns, n_learnt: int, n_test: int, rng: np.random.Generator
) -> Made:
    """Let every second mode become so many times rarer, and the others commoner."""
    n, modes = len(returns), np.arange(len(mode_laws()))
    place = np.clip((np.arange(n) - returns.first) / (n - returns.first), 0, 1)
    is_falling = modes % 2 == 0
    kept = np.where(is_falling, times ** -place[:, None], times ** (place[:, None] - 1))
    is_shown = rng.random(n) < kept[np.arange(n), returns.mode]
    learnt, tested = split(returns, np.flatnonzero(is_shown), n_learnt, n_test)
    best = returns.bayes(tested) * kept[tested]
    best /= best.sum(axis=1, keepdims=True)
    return Made(returns, learnt, tested, best, np.ones(len(tested), dtype=bool))


def opened(
    share: float, returns: Returns, n_learnt: int, n_test: int, rng: np.random.Generator
) -> Made:
    """Give a share of the opened units the findings of any other fault."""
    learnt, tested = split(returns, np.arange(len(returns)), n_learnt, n_test)
    n, intake, laws = len(returns), Intake(rng), mode_laws()
    was_seen = returns.cases["intake_findings"].notna().to_numpy()
    is_opened = rng.random(n) < OPENED
    is_other = is_opened & was_seen & (rng.random(n) < share)
    seen = returns.cases["intake_findings"].copy()
    for row in np.flatnonzero(is_other).tolist():
        found = None
        while found is None:
            law = laws[int(rng.integers(len(laws)))]
            found = intake.evidence(law)["intake_findings"]
        seen.iloc[row] = found
    words = np.where(is_opened, "yes", "no")
    changed = returns.cases.assign(intake_findings=seen, opened_before_arrival=words)
    concerns = (is_opened & was_seen)[tested]
    # Bayes without these findings, and then with them, as the scene has drawn them.
    blank = changed["intake_findings"].mask(is_opened, None)
    blanked = changed.assign(intake_findings=blank)
    best = dataclasses.replace(returns, cases=blanked).bayes(tested)
    best *= [
        _mixed(cell, share) if concerned else np.ones(len(laws))
        for cell, concerned in zip(seen.iloc[tested], concerns, strict=True)
    ]
    best /= best.sum(axis=1, keepdims=True)
    made = dataclasses.replace(returns, cases=changed)
    return Made(made, learnt, tested, best, concerns)


def _mixed(cell: str, share: float) -> Floats:
    own = suggest_bayes.p_findings(frozenset(cell.split(";")) - {"clean"})
    return np.asarray((1 - share) * own + share * own.mean())


def without_words(cases: pd.DataFrame) -> pd.DataFrame:
    return cases.drop(columns="symptom_text")


def without_opened(cases: pd.DataFrame) -> pd.DataFrame:
    # The suggester reads this column for the weakening alone.
    return cases.drop(columns="opened_before_arrival")


def unchanged(cases: pd.DataFrame) -> pd.DataFrame:
    return cases


Maker = Callable[[float, Returns, int, int, np.random.Generator], Made]
PARTS: dict[str, tuple[Maker, Callable[[pd.DataFrame], pd.DataFrame]]] = {
    WORDS: (typed, without_words),
    DECAY: (drifting, unchanged),
    WEAKENING: (opened, without_opened),
}
# Scene: part, strength, and whether the part has something to do there.
SCENES: dict[str, tuple[str, float, bool]] = {
    "words, all ticked too": (WORDS, 0.0, False),
    "words, half not ticked": (WORDS, 0.5, True),
    "words, none ticked": (WORDS, 1.0, True),
    "mix as invented": (DECAY, 1.0, False),
    "mix turns fivefold": (DECAY, 5.0, True),
    "opened, findings kept": (WEAKENING, 0.0, False),
    "opened, a quarter another's": (WEAKENING, 0.25, False),
    "opened, half another's": (WEAKENING, 0.5, True),
    "opened, most another's": (WEAKENING, 0.75, True),
}


def drawn(name: str, n_learnt: int, n_test: int, rng: np.random.Generator) -> Made:
    """Draw the returns of a scene."""
    part, strength, _ = SCENES[name]
    make, _ = PARTS[part]
    n = n_learnt + int(STILL_OPEN * n_learnt) + MORE_OPEN + n_test
    returns = draw_returns(int(n * (LEFT_OUT if part == DECAY else 1)), rng)
    return make(strength, returns, n_learnt, n_test, rng)


def paired(name: str, made: Made) -> Paired:
    """Train with and without the part of a scene, and suggest the same cases."""
    part, _, _ = SCENES[name]
    _, leave_out = PARTS[part]
    some = made.tested[made.concerns]
    bare = dataclasses.replace(made.returns, cases=leave_out(made.returns.cases))
    undecayed = mock.patch.object(fault_model, "HALF_LIVES", (None,))
    p = {WITH: _suggested(made.returns, made.learnt, some)}
    with undecayed if part == DECAY else nullcontext():
        p[WITHOUT] = _suggested(bare, made.learnt, some)
    p[BAYES] = made.best[made.concerns]
    mode = made.returns.mode[some]
    own = np.arange(len(mode))
    return Paired(
        right={who: (x.argmax(axis=1) == mode).astype(float) for who, x in p.items()},
        loss={who: -np.log(x[own, mode]) for who, x in p.items()},
        share=float(made.concerns.mean()),
    )


def _suggested(returns: Returns, learnt: Integers, rows: Integers) -> Floats:
    suggester = trained(returns.take(learnt))
    p = suggester.probabilities(returns.cases.iloc[rows])
    return np.asarray(p[[law.mode for law in mode_laws()]].to_numpy())


def compared(
    name: str, n_learnt: int, n_test: int, rng: np.random.Generator
) -> Outcome:
    found = paired(name, drawn(name, n_learnt, n_test, rng))
    values = {CONCERNED: found.share}
    for who in (WITHOUT, WITH, BAYES):
        values[f"{who}, top-1"] = float(found.right[who].mean())
        values[f"{who}, log loss"] = float(found.loss[who].mean())
    values[MORE_RIGHT] = values[f"{WITH}, top-1"] - values[f"{WITHOUT}, top-1"]
    values[GAIN] = values[f"{WITHOUT}, log loss"] - values[f"{WITH}, log loss"]
    return Outcome(n_learnt, values)


@cache
def scenes() -> Sequence[Scene]:
    # A margin below nought: not within two standard errors of 0, but that far above.
    helps = {GAIN: Promise(0.0, np.inf, is_rate=False, margin=-2.0)}
    return [
        Scene(
            name=name,
            family=FAMILY,
            fleet=partial(compared, name, N_LEARNT, N_TEST),
            promised=helps if has_work else {},
            most_fleets=N_DRAWS,
        )
        for name, (_, _, has_work) in SCENES.items()
    ]
