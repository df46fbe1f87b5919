"""The codes of the project, kept as CSV files: label, definition, source.

Every code that a file, a page or a command may hold is a row here and nowhere else. The
lists are read once; all of them are frozen.
"""

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources

CODE_LISTS = (
    "components",
    "mechanisms",
    "cause_categories",
    "symptoms",
    "findings",
    "charger_error_codes",
    "environments",
    "duties",
    "connectors",
    "supply_connections",
    "supply_systems",
    "ground_fault_devices",
    "dispositions",
    "stages",
    "conditions",
    "outcomes",
    "severities",
    "hazards",
)


@dataclass(frozen=True, slots=True)
class Code:
    """A code with what it means and who says so."""

    code: str
    label: str
    definition: str
    source: str


@dataclass(frozen=True, slots=True)
class FailureMode:
    """A failure mode, or an outcome of a return that is none (`is_failure` false)."""

    code: str
    component: str
    severity: str
    is_failure: bool
    watch_group: str
    label: str
    definition: str
    source: str


@dataclass(frozen=True, slots=True)
class Check:
    """What a technician does at the bench.

    Attributes
    ----------
    unit : str
        Unit of the reading, or "outcome" where only pass or fail is recorded.
    expected : str
        The expected window in words.
    low, high : float or None
        Fixed limits in `unit`; None where there is none or the unit's context decides.
    hazard : {"dead", "dead_500v", "extra_low_voltage", "live"}
    minutes : float
        Hands-on time, a starting guess.
    gate : bool
        Must have passed before anything live.
    needs : str or None
        Check that must have passed first.
    connector : str or None
        The only connector it applies to.
    points : str
        Where the probes go.
    """

    code: str
    label: str
    measures: str
    unit: str
    expected: str
    low: float | None
    high: float | None
    hazard: str
    minutes: float
    gate: bool
    needs: str | None
    connector: str | None
    points: str
    caution: str
    source: str


@dataclass(frozen=True, slots=True)
class CheckMode:
    """How a check bears on a mode.

    Attributes
    ----------
    p_fail : float
        Chance that the check fails when the mode is there.
    confirms : bool
        Whether a failed check confirms the mode, given `beside`.
    beside : str
        What must be good or done beside it.
    """

    check: str
    mode: str
    p_fail: float
    confirms: bool
    beside: str
    source: str


@dataclass(frozen=True, slots=True)
class EvidenceLink:
    """A mode that a piece of intake evidence points to.

    Attributes
    ----------
    kind : {"symptom", "finding", "error_word"}
    order : int
        1 = named first, the likeliest.
    """

    kind: str
    code: str
    mode: str
    order: int


@cache
def codes(kind: str) -> dict[str, Code]:
    """Return a list of codes by code, in the order of the file.

    Raises
    ------
    KeyError
        No list of that name; `CODE_LISTS` names them.
    """
    if kind not in CODE_LISTS:
        raise KeyError(kind)
    return {row["code"]: Code(**row) for row in _rows(kind)}


@cache
def failure_modes() -> dict[str, FailureMode]:
    """Return the failure modes by code, component by component."""
    return {
        row["code"]: FailureMode(
            code=row["code"],
            component=row["component"],
            severity=row["severity"],
            is_failure=_yes(row["is_failure"]),
            watch_group=row["watch_group"],
            label=row["label"],
            definition=row["definition"],
            source=row["source"],
        )
        for row in _rows("failure_modes")
    }


@cache
def checks() -> dict[str, Check]:
    """Return the checks by code, in the order of a full protocol."""
    return {
        row["code"]: Check(
            code=row["code"],
            label=row["label"],
            measures=row["measures"],
            unit=row["unit"],
            expected=row["expected"],
            low=_number(row["low"]),
            high=_number(row["high"]),
            hazard=row["hazard"],
            minutes=float(row["minutes"]),
            gate=_yes(row["gate"]),
            needs=row["needs"] or None,
            connector=row["connector"] or None,
            points=row["points"],
            caution=row["caution"],
            source=row["source"],
        )
        for row in _rows("checks")
    }


@cache
def check_modes() -> tuple[CheckMode, ...]:
    """Return how checks bear on modes; a pair not listed hardly bears at all."""
    return tuple(
        CheckMode(
            check=row["check"],
            mode=row["mode"],
            p_fail=float(row["p_fail"]),
            confirms=_yes(row["confirms"]),
            beside=row["beside"],
            source=row["source"],
        )
        for row in _rows("check_modes")
    )


@cache
def evidence_links() -> tuple[EvidenceLink, ...]:
    """Return which modes each piece of intake evidence points to, likeliest first."""
    return tuple(
        EvidenceLink(row["kind"], row["code"], row["mode"], int(row["order"]))
        for row in _rows("evidence_links")
    )


def _rows(name: str) -> list[dict[str, str]]:
    file = resources.files("ingest.catalogue") / f"{name}.csv"
    with file.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def _yes(cell: str) -> bool:
    return cell == "yes"


def _number(cell: str) -> float | None:
    return float(cell) if cell else None
