"""Evidence counted per cause, one block for each kind, shrunk towards a base rate.

Every block holds P(evidence | cause). A rate of few cases leans on the expert table
where that has a word on it, else on the component of the cause, else on all cases:
P = (n_with + kappa * base) / (n + kappa).
"""

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from analytics.advice.evidence import Codes, Evidence, Floats, Integers, incidence
from analytics.advice.expert_prior import VOLUNTEERED, ExpertPrior

# Reported symptoms, symptoms answered no, findings, error words, and four that are
# one category out of several each.
BLOCKS = ("sym", "symno", "find", "err", "model", "env", "conn", "age")
ONE_OF = ("model", "env", "conn", "age")
EXPERT_KIND = {"sym": "symptom", "symno": "symptom", "find": "finding"}
EXPERT_KIND |= {"err": "error_word"}

# Weights of a base rate in cases; chosen by experiment among 2, 5, 10 and 20.
KAPPA_EXPERT = 20.0
KAPPA_POOLED = 16.0
KAPPA_COMPONENT = 20.0
AGE_BINS = 8
OPENED_FACTOR = 0.5  # a guess: findings in a unit that others have had open


@dataclass(frozen=True, slots=True)
class CountingBlock:
    """P(evidence | cause) of one kind of evidence, for m causes and v codes.

    `log_p` is the log probability of a code given the cause, shape (m, v);
    `log_not` the log probability of its absence (only findings, else None).
    `n_seen` of `n_of` labelled cases of the cause carry the code, both (m, v).
    `edges` are the inner limits of the age bins in days (only age).
    """

    name: str
    codes: tuple[str, ...]
    log_p: Floats
    log_not: Floats | None
    n_seen: Integers
    n_of: Integers
    edges: tuple[float, ...] = ()

    def scores(self, evidence: Evidence) -> Floats:
        """Return sum of log P(evidence | cause), shape (cases, m); unknown adds 0."""
        carried = incidence(pieces(self.name, evidence, self.edges), self.codes)
        if self.log_not is None:
            return np.asarray(carried @ self.log_p.T)
        absent = np.outer(evidence.inspected, self.log_not.sum(axis=1))
        total = absent + carried @ (self.log_p - self.log_not).T
        return np.asarray(total * opened_factor(evidence)[:, None])


def opened_factor(evidence: Evidence) -> Floats:
    """Return what the findings of each case count, shape (cases,)."""
    return np.where(evidence.opened, OPENED_FACTOR, 1.0)


def pieces(name: str, evidence: Evidence, edges: tuple[float, ...]) -> list[Codes]:
    """Return the codes each case carries in one block."""
    if name == "age":
        return [_age_codes(age, edges) for age in evidence.age_days]
    if name in evidence.categories:
        return evidence.categories[name]
    return {
        "sym": evidence.symptoms,
        "symno": evidence.denied,
        "find": evidence.findings,
        "err": evidence.error_words,
    }[name]


def fit_block(
    name: str,
    evidence: Evidence,
    cause: Integers,
    weight: Floats,
    expert: ExpertPrior,
) -> CountingBlock:
    """Count one kind of evidence per cause and shrink the rates.

    Parameters
    ----------
    name : str
        One of `BLOCKS`.
    evidence : Evidence
        Of n labelled cases.
    cause : array of int, shape (n,)
        Index into the causes of `expert`.
    weight : array of float, shape (n,)
        How far each label is trusted, 0 to 1.
    expert : ExpertPrior
        The expert table, possibly empty, and the component of each cause.
    """
    edges = _age_edges(evidence.age_days) if name == "age" else ()
    carried = pieces(name, evidence, edges)
    kind = EXPERT_KIND.get(name, "")
    codes = tuple(sorted({*expert.codes(kind), *(c for row in carried for c in row)}))
    seen = incidence(carried, codes)
    exposed = _exposed(name, evidence, carried, codes)
    n_seen = _per_cause(seen, cause, weight, expert.n_causes)
    n_of = _per_cause(exposed, cause, weight, expert.n_causes)
    p = _shrunk(name, n_seen, n_of, codes, expert)
    trusted = np.ones(len(cause))
    return CountingBlock(
        name=name,
        codes=codes,
        log_p=np.log(p),
        log_not=np.log1p(-p) if name == "find" else None,
        n_seen=_per_cause(seen, cause, trusted, expert.n_causes).astype(np.int64),
        n_of=_per_cause(exposed, cause, trusted, expert.n_causes).astype(np.int64),
        edges=edges,
    )


def _exposed(
    name: str, evidence: Evidence, carried: list[Codes], codes: tuple[str, ...]
) -> Floats:
    # Shape (n, v): 1 where the case could have shown the code. Symptoms and error
    # words are counted over all cases, whether or not anyone asked: people volunteer
    # them and are seldom asked, so present / (present + no) would be biased.
    everything = np.ones((len(evidence), len(codes)))
    if name == "symno":
        return np.asarray(everything - incidence(evidence.symptoms, codes).toarray())
    if name == "find":
        return np.asarray(everything * evidence.inspected[:, None])
    if name in ONE_OF:
        is_known = np.array([bool(row) for row in carried], dtype=bool)
        return np.asarray(everything * is_known[:, None])
    return everything


def _per_cause(
    flags: Floats | sparse.csr_array[np.float64],
    cause: Integers,
    weight: Floats,
    n_causes: int,
) -> Floats:
    entries = (weight, (cause, np.arange(len(cause))))
    by_cause = sparse.csr_array(entries, shape=(n_causes, len(cause)))
    counts = by_cause @ flags
    dense = counts.toarray() if sparse.issparse(counts) else counts
    return np.asarray(dense, dtype=float)


def _shrunk(
    name: str, n_seen: Floats, n_of: Floats, codes: tuple[str, ...], expert: ExpertPrior
) -> Floats:
    # Half a case on each option, so that no overall rate is 0 or 1: of two options
    # where each code is present or not, of all codes where only one can be.
    options = len(codes) if name in ONE_OF else 2
    overall = (n_seen.sum(axis=0) + 0.5) / (n_of.sum(axis=0) + 0.5 * options)
    base = _component_rates(n_seen, n_of, overall, expert.component)
    table = expert.rates(EXPERT_KIND.get(name, ""), codes)
    if name == "sym":
        table = table * VOLUNTEERED
    elif name == "symno":
        # P(asked and no | cause, not reported) of a symptom that is present in p of
        # the cases and then volunteered in 0.78 of them.
        table = overall * (1 - table) / (1 - VOLUNTEERED * table)
    by_table = ~np.isnan(table)
    kappa = np.where(by_table, KAPPA_EXPERT, KAPPA_POOLED)
    base = np.where(by_table, table, base)
    return np.asarray((n_seen + kappa * base) / (n_of + kappa))


def _component_rates(
    n_seen: Floats, n_of: Floats, overall: Floats, component: Integers
) -> Floats:
    rates = np.tile(overall, (len(component), 1))
    for group in np.unique(component[component >= 0]):
        members = component == group
        seen = n_seen[members].sum(axis=0) + KAPPA_COMPONENT * overall
        rates[members] = seen / (n_of[members].sum(axis=0) + KAPPA_COMPONENT)
    return rates


def _age_edges(age_days: Floats) -> tuple[float, ...]:
    known = age_days[~np.isnan(age_days)]
    if not len(known):
        return ()
    inner = np.linspace(0, 1, AGE_BINS + 1)[1:-1]
    # Whole days, as ages are given; bins that fall together are one.
    return tuple(np.unique(np.round(np.quantile(known, inner))).tolist())


def _age_codes(age: float, edges: tuple[float, ...]) -> Codes:
    if np.isnan(age) or not edges:
        return frozenset()
    i = int(np.searchsorted(edges, age, side="right"))
    if i == 0:
        return frozenset([f"under {edges[0]:g} days"])
    if i == len(edges):
        return frozenset([f"{edges[-1]:g} days and more"])
    return frozenset([f"{edges[i - 1]:g} to {edges[i]:g} days"])
