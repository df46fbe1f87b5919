"""An expert table as base rates: how often a cause shows a piece of evidence."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.advice.evidence import Floats, Integers, is_missing

KINDS = ("symptom", "finding", "error_word")
COLUMNS = ("kind", "code", "cause", "probability")
NO_LINK = 0.04  # a guess: seen together by chance
VOLUNTEERED = 0.78  # a guess: share of present symptoms that people mention unasked

Label = str | int


@dataclass(frozen=True, slots=True)
class ExpertPrior:
    """Rates of an expert table, and which causes belong to one component.

    `tables` holds per kind its codes and P(code | cause), shape (causes, codes), nan
    where the table does not know the cause. `component` is a number per cause, -1
    where unknown.
    """

    tables: dict[str, tuple[tuple[str, ...], Floats]]
    component: Integers

    @property
    def n_causes(self) -> int:
        """Number of causes."""
        return len(self.component)

    def codes(self, kind: str) -> tuple[str, ...]:
        """Return the codes the table names in one kind."""
        return self.tables[kind][0] if kind in self.tables else ()

    def rates(self, kind: str, codes: tuple[str, ...]) -> Floats:
        """Return P(code | cause), shape (causes, codes); nan where the table is silent.

        `codes` contain all codes of the table in this kind.
        """
        rates = np.full((self.n_causes, len(codes)), np.nan)
        if kind in self.tables:
            known, values = self.tables[kind]
            rates[:, [codes.index(code) for code in known]] = values
        return rates


def plain_label(label: object) -> Label | None:
    """Return a cause as text or int, None where there is none.

    Raises
    ------
    ValueError
        A label that is neither text nor a whole number.
    """
    if is_missing(label):
        return None
    if isinstance(label, str):
        return label
    if isinstance(label, int | np.integer):
        return int(label)
    raise ValueError(f"a cause is text or a whole number, got {label!r}")


def table_causes(expert_table: pd.DataFrame | None) -> set[Label]:
    """Return the causes an expert table names."""
    if expert_table is None:
        return set()
    labels = (plain_label(cause) for cause in expert_table["cause"].tolist())
    return {label for label in labels if label is not None}


def read_expert_table(
    expert_table: pd.DataFrame | None, causes: tuple[Label, ...]
) -> ExpertPrior:
    """Read an expert table for a list of causes.

    Parameters
    ----------
    expert_table : DataFrame or None
        One row per kind of evidence (`symptom`, `finding`, `error_word`), `code` and
        `cause`, with `probability`: how often the cause shows it, above 0 and
        below 1. A pair of a code and a cause that are both in the table counts as
        0.04. An optional column `component` groups causes.
    causes : tuple
        All causes, those of the table among them.

    Raises
    ------
    ValueError
        A column is missing, a kind unknown, a pair named twice or a probability
        outside (0, 1).
    """
    component = np.full(len(causes), -1, dtype=np.int64)
    if expert_table is None:
        return ExpertPrior({}, component)
    _check(expert_table)
    labels = [plain_label(cause) for cause in expert_table["cause"].tolist()]
    rows = np.array([causes.index(label) for label in labels if label is not None])
    if "component" in expert_table:
        numbers = pd.factorize(expert_table["component"])[0]
        component[rows] = numbers
    tables = {}
    for kind in KINDS:
        is_kind = (expert_table["kind"] == kind).to_numpy()
        part = expert_table[is_kind]
        codes = tuple(sorted(set(part["code"].astype(str))))
        rates = np.full((len(causes), len(codes)), np.nan)
        rates[np.unique(rows)] = NO_LINK
        columns = [codes.index(str(code)) for code in part["code"]]
        rates[rows[is_kind], columns] = part["probability"].to_numpy(dtype=float)
        tables[kind] = (codes, rates)
    return ExpertPrior(tables, component)


def _check(table: pd.DataFrame) -> None:
    missing = [name for name in COLUMNS if name not in table]
    if missing:
        raise ValueError(f"the expert table lacks the columns {missing}")
    if unknown := sorted(set(table["kind"]) - set(KINDS)):
        raise ValueError(f"kinds of the expert table are {KINDS}, got {unknown}")
    if table["cause"].map(plain_label).isna().any():
        raise ValueError("a row of the expert table names no cause")
    p = table["probability"].to_numpy(dtype=float)
    if not ((p > 0) & (p < 1)).all():
        raise ValueError("probabilities of the expert table lie above 0 and below 1")
    if table.duplicated(["kind", "code", "cause"]).any():
        raise ValueError("the expert table names a code and cause twice")
