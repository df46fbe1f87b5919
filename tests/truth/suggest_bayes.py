"""Bayes' rule for the invented fleet: what nobody can do better than.

It knows all that the generator knows but the fault: the tables of the scenario, the
lot, cable and plug of the unit, when it was last repaired and of what. The hidden
variants are summed out, and so are the symptoms that were seen and not told, and the
stray ones. Words are drawn from the symptoms told and add nothing to them; neither do
environment and the answer on who opened the unit. Symptoms are taken as a set: their
order in a cell, which a technician chooses, is not evidence.
"""

import math
from collections import defaultdict
from collections.abc import Sequence
from functools import cache, lru_cache
from itertools import chain, combinations

import numpy as np
from numpy.typing import NDArray
from scipy import special, stats

from synthetic_data import scenario
from synthetic_data.lives import MISWIRED_WITHIN_DAYS, Events, hazard_ratios
from synthetic_data.register import Register
from synthetic_data.scenario import ModeLaw, mode_laws, read_table
from synthetic_data.symptoms import (
    ASKED,
    INSPECTED,
    STRAY_FINDING,
    STRAY_SYMPTOM,
    VARIANT_A,
    VOLUNTEERED,
)

Floats = NDArray[np.float64]
Codes = frozenset[str]

MEMORYLESS = ("no_fault_found", "vehicle_side_fault", "supply_out_of_range")
N_ASKED = 3
REPAIR_STARTS_AFTER = 2  # days from closing a case to service


@cache
def symptom_codes() -> frozenset[str]:
    return frozenset(row["symptom"] for row in read_table("phrases.csv"))


@cache
def finding_codes() -> frozenset[str]:
    return frozenset(code for law in mode_laws() for code in law.findings)


@cache
def error_words() -> frozenset[str]:
    return frozenset(word for law in mode_laws() for word in law.error_words)


def log_likelihood(
    told: Sequence[Codes],
    denied: Sequence[Codes],
    word: Sequence[str | None],
    findings: Sequence[Codes | None],
) -> Floats:
    """Return log P(evidence | mode), shape (cases, modes), -inf where it cannot be.

    A case is what is told and denied, its error word, and its findings: None where
    nobody looked, empty where someone did and saw nothing.
    """
    rows = [
        p_symptoms(*said) * p_error_word(one) * p_findings(seen)
        for said, one, seen in zip(
            zip(told, denied, strict=True), word, findings, strict=True
        )
    ]
    with np.errstate(divide="ignore"):
        return np.log(np.array(rows))


@lru_cache(maxsize=100_000)
def p_symptoms(told: Codes, denied: Codes) -> Floats:
    p = np.zeros(len(mode_laws()))
    for (mode, present), chance in ways_told().get(told, {}).items():
        p[mode] += chance * p_denied(denied, present)
    return p


@cache
def ways_told() -> dict[Codes, dict[tuple[int, Codes], float]]:
    """Return, for each set of symptoms told, how each mode can have led to it.

    Keys are the mode and all that was there, told or not; values the chances.
    """
    found: dict[Codes, dict[tuple[int, Codes], float]] = defaultdict(
        lambda: defaultdict(float)
    )
    for mode, law in enumerate(mode_laws()):
        for shown, p_shown in _shown(law).items():
            tellable = shown - {"none_reported"}
            for told in subsets(tellable):
                p = p_shown * _chance(VOLUNTEERED, len(tellable), len(told))
                found[told][mode, shown] += p * (1 - STRAY_SYMPTOM * bool(told))
                for stray in symptom_codes() if told else ():
                    more = told | {stray}
                    each = p * STRAY_SYMPTOM / len(symptom_codes())
                    found[more][mode, shown | more] += each
    return found


def _shown(law: ModeLaw) -> dict[Codes, float]:
    shown: dict[Codes, float] = defaultdict(float)
    shares = (VARIANT_A, 1 - VARIANT_A)
    for chances, share in zip(law.variants, shares, strict=True):
        for codes in subsets(frozenset(chances)):
            p = math.prod(
                chance if code in codes else 1 - chance
                for code, chance in chances.items()
            )
            # A fault that shows in no way shows in the first one.
            seen = codes or frozenset(list(law.variants[0])[:1])
            shown[seen] += share * p
    return shown


def subsets(codes: Codes) -> list[Codes]:
    sizes = range(len(codes) + 1)
    return [
        frozenset(some)
        for some in chain.from_iterable(combinations(sorted(codes), n) for n in sizes)
    ]


def _chance(p: float, n: int, k: int) -> float:
    return p**k * (1 - p) ** (n - k)


def p_denied(denied: Codes, present: Codes) -> float:
    """Return the chance that of three symptoms asked about exactly these are denied."""
    if denied & present:
        return 0.0
    n_new, n_known = len(denied), len(present & symptom_codes())
    # Of all answers of three, those that hold each of the denied: in and out.
    ways = sum(
        (-1) ** left * math.comb(n_new, left) * (n_new + n_known - left) ** N_ASKED
        for left in range(n_new + 1)
    )
    p = ASKED * ways / len(symptom_codes()) ** N_ASKED
    return p if denied else p + 1 - ASKED


@cache
def p_error_word(word: str | None) -> Floats:
    if word is None:
        return np.full(len(mode_laws()), scenario.SHARE_WITHOUT_ERROR_WORD)
    own = np.array([law.error_words.get(word, 0.0) for law in mode_laws()])
    other = np.array([1 - sum(law.error_words.values()) for law in mode_laws()])
    said = 1 - scenario.SHARE_WITHOUT_ERROR_WORD
    return said * (own + other / len(error_words()))


@cache
def p_findings(seen: Codes | None) -> Floats:
    laws, n = mode_laws(), len(finding_codes())
    if seen is None:
        return np.full(len(laws), 1 - INSPECTED)
    # A stray finding may be `clean` or one that was seen anyway.
    same = 1 - STRAY_FINDING + STRAY_FINDING * (1 + len(seen)) / n
    p = [
        same * _seen(law, seen)
        + STRAY_FINDING / n * sum(_seen(law, seen - {stray}) for stray in seen)
        for law in laws
    ]
    return INSPECTED * np.array(p)


def _seen(law: ModeLaw, seen: Codes) -> float:
    own = {code: chance for code, chance in law.findings.items() if code != "clean"}
    if not seen <= own.keys():
        return 0.0
    return math.prod(own[code] if code in seen else 1 - own[code] for code in own)


def log_intensity(register: Register, events: Events) -> Floats:
    """Return the log of each mode's rate at each return, shape (events, modes).

    The returns of a unit are competing risks since it was last as new, at its middle of
    the day. Left out: that a return without a failure is not counted within four months
    of a failure, which thins the former by a few per cent.
    """
    start, before = _last_repair(register, events)
    age = (events.failed - start).astype(float)
    in_service = events.failed - register.in_service[events.unit]
    ratios = hazard_ratios(register)[events.unit]
    p_before = before + np.where(before < 0, len(mode_laws()), 0)
    columns = []
    for mode, law in enumerate(mode_laws()):
        if law.is_failure:
            rate = ratios[:, mode] * _hazard(law, age + 0.5)
            rate += np.where(p_before == mode, _repair_failed(age), 0.0)
        else:
            rate = _other_rate(law, in_service)
        columns.append(rate)
    with np.errstate(divide="ignore"):
        return np.log(np.column_stack(columns))


def _last_repair(
    register: Register, events: Events
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return when each unit was last as new, and its mode then, -1 if it was new."""
    n_failures = sum(law.is_failure for law in mode_laws())
    start = register.in_service[events.unit].copy()
    before = np.full(len(events), -1)
    last: dict[int, int] = {}
    for row in np.argsort(events.failed, kind="stable").tolist():
        unit = int(events.unit[row])
        if unit in last:
            start[row] = events.closed[last[unit]] + REPAIR_STARTS_AFTER
            before[row] = events.mode[last[unit]]
        if events.mode[row] < n_failures:
            last[unit] = row
    return start, before


def _hazard(law: ModeLaw, age: Floats) -> Floats:
    age = np.maximum(age, 0.5)
    if law.law == "lognormal":
        z = np.log(age / law.scale_days) / law.shape
        rate = np.exp(stats.norm.logpdf(z) - stats.norm.logsf(z)) / (law.shape * age)
        return np.asarray(rate)
    return np.asarray(
        law.shape / law.scale_days * (age / law.scale_days) ** (law.shape - 1)
    )


def _repair_failed(age: Floats) -> Floats:
    low, high = scenario.REPAIR_FAILED_DAYS
    share, days = scenario.SHARE_REPAIR_FAILED, high - low + 1
    gone = np.clip((age - low) / days, 0, 1)
    may = (age >= low) & (age <= high)
    return np.where(may, share / days / (1 - share * gone), 0.0)


def _other_rate(law: ModeLaw, in_service: NDArray[np.int64]) -> Floats:
    if law.mode in MEMORYLESS:
        return np.full(len(in_service), 1 / law.scale_days)
    share = scenario.DAYS_PER_YEAR / law.scale_days
    return np.where(in_service < MISWIRED_WITHIN_DAYS, share / MISWIRED_WITHIN_DAYS, 0)


def posterior(log_rate: Floats, log_evidence: Floats) -> Floats:
    """Return P(mode | unit, age, evidence), shape (cases, modes)."""
    return np.asarray(special.softmax(log_rate + log_evidence, axis=1))
