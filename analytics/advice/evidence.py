"""What is known about a return before any measurement, in three states.

A symptom was reported, was asked about and denied, or is unknown. A finding was
seen, was not seen by someone who looked, or nobody looked. A category or an age is
given or unknown. Unknown is kept apart from "no" from here on: it adds nothing.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar, cast

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import sparse

NO_SYMPTOM = "none_reported"  # stands alone, says nothing
LOOKED_AND_CLEAN = "clean"  # stands alone: inspected, nothing seen

# Column of the cases behind each category block.
CATEGORIES = {"model": "model", "env": "environment", "conn": "connector"}

Codes = frozenset[str]
Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]
Incidence = sparse.csr_array[np.float64]

Cell = TypeVar("Cell")

_NOTHING: Codes = frozenset()


@dataclass(frozen=True, slots=True)
class Evidence:
    """The intake evidence of n cases, one entry per case.

    `denied` never holds a symptom that was also reported: what someone has seen
    outweighs an answer on a form. `inspected` tells "not seen" from "nobody looked".
    """

    symptoms: list[Codes]
    denied: list[Codes]
    findings: list[Codes]
    error_words: list[Codes]
    categories: dict[str, list[Codes]]  # block name -> none or one category per case
    inspected: Flags
    age_days: Floats  # nan where unknown
    text: list[str]  # "" where none
    opened: Flags  # someone else had worked on the unit

    def __len__(self) -> int:
        return len(self.symptoms)

    def take(self, rows: Iterable[int]) -> "Evidence":
        """Return the evidence of some cases, in the order of `rows`."""
        order = np.fromiter(rows, dtype=np.int64)

        def of(cells: list[Cell]) -> list[Cell]:
            return [cells[row] for row in order]

        return Evidence(
            symptoms=of(self.symptoms),
            denied=of(self.denied),
            findings=of(self.findings),
            error_words=of(self.error_words),
            categories={name: of(cells) for name, cells in self.categories.items()},
            inspected=self.inspected[order],
            age_days=self.age_days[order],
            text=of(self.text),
            opened=self.opened[order],
        )


def read_cases(cases: pd.DataFrame) -> Evidence:
    """Read the evidence columns of many cases; an absent column is all unknown.

    Parameters
    ----------
    cases : DataFrame
        Any of `symptoms`, `symptoms_denied`, `intake_findings`,
        `charger_error_codes` (codes with `;` between, or a list of codes),
        `symptom_text`, `model`, `environment`, `connector`, `age_days` (days),
        `opened_before_arrival`. Other columns are not evidence and are not read.
    """
    return _read({str(name): cases[name].tolist() for name in cases}, len(cases))


def read_intake(intake: Mapping[str, object] | pd.Series | pd.DataFrame) -> Evidence:
    """Read the evidence of one case: a mapping, a row, or a table of one row.

    Raises
    ------
    ValueError
        A table that has not exactly one row.
    """
    if isinstance(intake, pd.DataFrame):
        if len(intake) != 1:
            raise ValueError(f"an intake is one case, got a table of {len(intake)}")
        return read_cases(intake)
    pairs = cast("Iterable[tuple[object, object]]", intake.items())
    return _read({str(name): [cell] for name, cell in pairs}, 1)


def is_missing(cell: object) -> bool:
    """Tell whether a cell records nothing: None, NaN, NA, NaT or only spaces."""
    if isinstance(cell, str):
        return not cell.strip()
    if cell is None or cell is pd.NA or cell is pd.NaT:
        return True
    return isinstance(cell, float) and np.isnan(cell)


def incidence(rows: Sequence[Collection[str]], codes: Sequence[str]) -> Incidence:
    """Return which case carries which code, shape (cases, codes); 1 where it does.

    A code that is not among `codes` was never seen before and is left out.
    """
    column = {code: i for i, code in enumerate(codes)}
    # Sorted, so that the order in a cell cannot change the order of a sum.
    found = [sorted(column[code] for code in row if code in column) for row in rows]
    ends = np.cumsum([0, *(len(columns) for columns in found)])
    indices = np.fromiter((i for columns in found for i in columns), dtype=np.int64)
    shape = (len(rows), len(codes))
    return sparse.csr_array((np.ones(len(indices)), indices, ends), shape=shape)


def _read(columns: Mapping[str, list[object]], n: int) -> Evidence:
    absent: list[object] = [None] * n

    def cells(name: str) -> list[object]:
        return columns.get(name, absent)

    def codes(name: str, *, without: str = "") -> list[Codes]:
        return [_codes(cell) - {without} for cell in cells(name)]

    symptoms = codes("symptoms", without=NO_SYMPTOM)
    denied = codes("symptoms_denied", without=NO_SYMPTOM)
    seen = codes("intake_findings")
    return Evidence(
        symptoms=symptoms,
        denied=[no - yes for no, yes in zip(denied, symptoms, strict=True)],
        findings=[row - {LOOKED_AND_CLEAN} for row in seen],
        error_words=codes("charger_error_codes"),
        categories={
            block: [_category(cell) for cell in cells(name)]
            for block, name in CATEGORIES.items()
        },
        inspected=np.array([bool(row) for row in seen], dtype=bool),
        age_days=np.array([_number(cell) for cell in cells("age_days")], dtype=float),
        text=["" if is_missing(cell) else str(cell) for cell in cells("symptom_text")],
        opened=np.array([_is_yes(c) for c in cells("opened_before_arrival")], bool),
    )


def _codes(cell: object) -> Codes:
    if isinstance(cell, str):
        return frozenset(part for code in cell.split(";") if (part := code.strip()))
    if is_missing(cell):
        return _NOTHING
    if isinstance(cell, Collection):
        return frozenset(str(code) for code in cell)
    raise ValueError(f"codes are text with ';' between, or a list, got {cell!r}")


def _category(cell: object) -> Codes:
    return _NOTHING if is_missing(cell) else frozenset([str(cell).strip()])


def _number(cell: object) -> float:
    if is_missing(cell):
        return float("nan")
    try:
        return float(str(cell))
    except ValueError as error:
        raise ValueError(f"age_days is a number of days, got {cell!r}") from error


def _is_yes(cell: object) -> bool:
    return cell is True or (isinstance(cell, str) and cell.strip().lower() == "yes")
