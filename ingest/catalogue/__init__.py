"""The catalogue of codes: what each word in the records means, and where it comes from.

Every list is a CSV file beside this module, one row per code with a label, a
definition and a source, so that a person can read and correct it without
reading the program. Files are read once and the rows are frozen.
"""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

# Lists of plain codes; each is a file of the same name.
CODE_KINDS = (
    "components",
    "mechanisms",
    "cause_categories",
    "severities",
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
    "hazards",
)


@dataclass(frozen=True, slots=True)
class Code:
    """One word of a code list."""

    code: str
    label: str
    definition: str
    source: str


@dataclass(frozen=True, slots=True)
class FailureMode:
    """One failure mode: the manner in which a failure shows (IEC 60050-192).

    `is_failure` is False for returns that are no failure of the unit;
    `watch_group` is the group in which recurring failures are counted.
    """

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
    """One check of the bench: what is measured, in which unit, and what it takes.

    `low` and `high` are the fixed limits in `unit`; both are None where the limit
    depends on the unit under test (`analytics.advice.readings` works it out) or
    where the result is an outcome. `needs` is the check that must have passed
    before; `connector` is the only connector it applies to, None for all.
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
    """How likely a check fails under a failure mode, and whether that confirms it.

    `beside` says what must be good or done beside the failed check.
    """

    check: str
    mode: str
    p_fail: float
    confirms: bool
    beside: str
    source: str


@dataclass(frozen=True, slots=True)
class EvidenceLink:
    """A failure mode that a symptom, finding or error word points to.

    `order` is 1 for the first named; modes of one rank share it.
    """

    kind: str
    code: str
    mode: str
    order: int


@dataclass(frozen=True, slots=True)
class LabelRule:
    """What one check says about a label of a confirmed mode.

    `role` is `backs` (failed, it proves the mode), `fails_out` (failed, it rules the
    mode out), `passes_out` (passed, it rules the mode out) or `together_out` (all of
    these passed, and the mode is ruled out). `points` narrows it to these points;
    `side` to values too `low` or too `high`. `counts` is `last` (the last reading of
    a stage), `ever` (any reading) or `gone` (failed, and passed later); `stages` is
    `bench` (intake, diagnosis), `on_site` or `any` of them; with `flexed` a pass
    needs a reading taken flexed.
    """

    mode: str
    check: str
    role: str
    points: tuple[str, ...]
    side: str | None
    counts: str
    stages: str
    flexed: bool
    source: str


@dataclass(frozen=True, slots=True)
class ProtocolCheck:
    """One check of the whole protocol, which backs `no_fault_found`.

    One check of a `group` is enough. `only_for` narrows it: to a ground-fault
    device, to the symptoms that come and go (`comes_and_goes`), or to a mode.
    `result` is `passed`, or `not_failed` where the records lack what a pass needs.
    """

    check: str
    group: str
    only_for: str | None
    result: str
    flexed: bool
    source: str


def _rows(name: str) -> Iterator[dict[str, str]]:
    text = (files(__package__) / f"{name}.csv").read_text(encoding="utf-8")
    yield from csv.DictReader(text.splitlines())


def _number(cell: str) -> float | None:
    return float(cell) if cell else None


@cache
def codes(kind: str) -> dict[str, Code]:
    """Return one list of codes, in the order of its file.

    Parameters
    ----------
    kind : str
        One of `CODE_KINDS`.

    Returns
    -------
    dict of str to Code

    Raises
    ------
    ValueError
        If there is no such list.
    """
    if kind not in CODE_KINDS:
        raise ValueError(
            f"no list of codes is called {kind!r}; there are {', '.join(CODE_KINDS)}"
        )
    return {row["code"]: Code(**row) for row in _rows(kind)}


@cache
def failure_modes() -> dict[str, FailureMode]:
    """Return the failure modes by code, handle and cable first."""
    return {
        row["code"]: FailureMode(
            code=row["code"],
            component=row["component"],
            severity=row["severity"],
            is_failure=row["is_failure"] == "yes",
            watch_group=row["watch_group"],
            label=row["label"],
            definition=row["definition"],
            source=row["source"],
        )
        for row in _rows("failure_modes")
    }


@cache
def checks() -> dict[str, Check]:
    """Return the checks by code, in working order: dead ones before live ones."""
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
            gate=row["gate"] == "yes",
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
    """Return the check x mode table; a pair that is not in it is no link."""
    return tuple(
        CheckMode(
            check=row["check"],
            mode=row["mode"],
            p_fail=float(row["p_fail"]),
            confirms=row["confirms"] == "yes",
            beside=row["beside"],
            source=row["source"],
        )
        for row in _rows("check_modes")
    )


@cache
def evidence_links() -> tuple[EvidenceLink, ...]:
    """Return what symptoms, findings and error words point to, likeliest first."""
    return tuple(
        EvidenceLink(
            kind=row["kind"],
            code=row["code"],
            mode=row["mode"],
            order=int(row["order"]),
        )
        for row in _rows("evidence_links")
    )


@cache
def label_rules() -> tuple[LabelRule, ...]:
    """Return what backs each mode and what rules it out, by recorded checks."""
    return tuple(
        LabelRule(
            mode=row["mode"],
            check=row["check"],
            role=row["role"],
            points=tuple(point for point in row["points"].split(";") if point),
            side=row["side"] or None,
            counts=row["counts"],
            stages=row["stages"],
            flexed=row["flexed"] == "yes",
            source=row["source"],
        )
        for row in _rows("label_rules")
    )


@cache
def protocol() -> tuple[ProtocolCheck, ...]:
    """Return the checks of the whole protocol, in working order."""
    return tuple(
        ProtocolCheck(
            check=row["check"],
            group=row["group"],
            only_for=row["only_for"] or None,
            result=row["result"],
            flexed=row["flexed"] == "yes",
            source=row["source"],
        )
        for row in _rows("protocol")
    )
