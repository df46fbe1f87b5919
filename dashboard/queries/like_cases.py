"""The earlier confirmed cases behind the count beside a suggested mode."""

import difflib
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.advice.evidence import Evidence, read_intake
from analytics.advice.suggest import FaultSuggester
from analytics.rollup.snapshot import Snapshot
from analytics.rollup.training import MOST_CASES, folder_of
from dashboard import text
from dashboard.filters import Filters
from dashboard.queries.answer import Answer, Row, rows_of
from dashboard.queries.intake import Intake
from dashboard.queries.trained import trained_suggester
from dashboard.queries.unit_facts import unit_on_bench
from dashboard.settings import Settings
from ingest import catalogue
from ingest.errors import UsageError

METHOD = (
    "Cases confirmed as this mode that share at least one reported symptom, finding or "
    "error word with the return; where it has none of these, a symptom answered no, "
    "the model, environment, connector or age bin. Each case once, newest first. They "
    "show what was found before, not what it is this time."
)
SHARED = {
    "shared_symptoms": "symptoms",
    "shared_findings": "findings",
    "shared_error_words": "charger_error_codes",
    "shared_denied": "symptoms",
}
SAME = {
    "same_model": "model",
    "same_environment": "environment",
    "same_connector": "connector",
    "same_age": "like age",
}
TELLING = ("symptoms", "findings", "error_words")
REST = ("denied", "model", "environment", "connector", "age_from", "age_to")


@dataclass(frozen=True, slots=True)
class _Asked:
    # What is looked for, as the question takes it, and whether it is anything at all.
    parameters: Mapping[str, object]
    by_rest: bool
    has_any: bool


def like_cases(
    snapshot: Snapshot, intake: Intake, mode: str, *, settings: Settings
) -> Answer:
    """Return the confirmed cases of a mode that are like the return on the bench.

    Parameters
    ----------
    snapshot : Snapshot
    intake : Intake
        As for `suggest`; what is at the bench (readings and the like) is not looked
        at.
    mode : str
        Code of the mode.
    settings : Settings

    Returns
    -------
    Answer
        Rows, newest first: case_id, received_on, model, age_days, support (of the
        confirmed mode), shared (in words). More: mode, label, n_like (as beside the
        suggestion), sentence, differs (why `n_like` is another number; None where it
        is the same), by_rest.

    Raises
    ------
    UsageError
        No such mode.
    NotPublishedError
        The suggester beside the figures cannot be used.
    """
    known = catalogue.failure_modes()
    if mode not in known:
        near = difflib.get_close_matches(mode, known, n=1)
        raise UsageError(
            f"mode {mode} is not known.",
            hint=f"The nearest is {near[0]}." if near else "Name the code of a mode.",
        )
    unit = unit_on_bench(snapshot, intake, settings)
    evidence = unit.intake.evidence()
    suggester = trained_suggester(snapshot.suggester_folder)
    asked = _asked(read_intake(evidence), suggester.age_edges)
    found = snapshot.ask("like_cases", {"mode": mode, **asked.parameters})
    n_like = suggester.n_like(evidence).get(mode, 0)
    rows = _rows(found)
    return Answer(
        about=snapshot.about,
        filters=Filters(),
        method=METHOD,
        rows=rows,
        more={
            "mode": mode,
            "label": known[mode].label,
            "n_like": n_like,
            "sentence": _sentence(known[mode].label, len(rows), asked),
            "differs": _differs(snapshot, suggester, n_like, len(rows)),
            "by_rest": asked.by_rest,
        },
        invented=snapshot.about.is_invented,
        asked={"mode": mode, **_looked_for(asked)},
    )


def _asked(evidence: Evidence, edges: tuple[float, ...]) -> _Asked:
    telling = {
        "symptoms": sorted(evidence.symptoms[0]),
        "findings": sorted(evidence.findings[0]),
        "error_words": sorted(evidence.error_words[0]),
    }
    by_rest = not any(telling.values())
    rest: dict[str, object] = {
        "denied": sorted(evidence.denied[0]),
        "model": _only(evidence.categories["model"][0]),
        "environment": _only(evidence.categories["env"][0]),
        "connector": _only(evidence.categories["conn"][0]),
        **_age_bin(float(evidence.age_days[0]), edges),
    }
    known = list(rest.values()) if by_rest else list(telling.values())
    has_any = any(value not in (None, []) for value in known)
    return _Asked({**telling, **rest, "by_rest": by_rest}, by_rest, has_any)


def _looked_for(asked: _Asked) -> dict[str, object]:
    names = REST if asked.by_rest else TELLING
    given = {name: asked.parameters[name] for name in names}
    return {name: value for name, value in given.items() if value not in (None, [])}


def _only(codes: frozenset[str]) -> str | None:
    return next(iter(codes), None)


def _age_bin(age: float, edges: tuple[float, ...]) -> dict[str, object]:
    if np.isnan(age) or not edges:
        return {"age_from": None, "age_to": None}
    place = int(np.searchsorted(edges, age, side="right"))
    return {
        "age_from": int(edges[place - 1]) if place else None,
        "age_to": int(edges[place]) if place < len(edges) else None,
    }


def _rows(found: pd.DataFrame) -> list[Row]:
    labels = {
        column: {code: row.label for code, row in catalogue.codes(kind).items()}
        for column, kind in SHARED.items()
    }
    rows: list[Row] = []
    for row in rows_of(found):
        shared = [
            ("asked, answered no: " if column == "shared_denied" else "")
            + labels[column].get(code, code)
            for column in SHARED
            for code in _codes(row[column])
        ]
        shared += [words for column, words in SAME.items() if row[column]]
        kept = {name: row[name] for name in ("case_id", "received_on", "model")}
        rest = {name: row[name] for name in ("age_days", "support")}
        rows.append({**kept, **rest, "shared": "; ".join(shared)})
    return rows


def _codes(value: object) -> list[str]:
    return [str(code) for code in value] if isinstance(value, list) else []


def _sentence(label: str, n: int, asked: _Asked) -> str:
    if not asked.has_any:
        return (
            "Nothing is known of the return that an earlier case could share: no "
            "symptom, finding or error word, no model, environment, connector or age."
        )
    what = (
        "a symptom answered no, the model, environment, connector or about the age"
        if asked.by_rest
        else "a reported symptom, finding or error word"
    )
    cases = text.counted(n, "case")
    verb = "shares" if n == 1 else "share"
    return f"{cases} confirmed as {label} {verb} {what} with this return."


def _differs(
    snapshot: Snapshot, suggester: FaultSuggester, n_like: int, n_listed: int
) -> str | None:
    if n_like == n_listed:
        return None
    about = snapshot.about
    if about.suggester != folder_of(about.snapshot):
        why = (
            f"its suggester learned from the figures up to {suggester.as_of} "
            f"({about.suggester}), this list is of those published since; "
            "`mendfleet publish --train` brings them together"
        )
    else:
        why = (
            f"its suggester learned from the newest {text.count(MOST_CASES)} confirmed "
        )
        why += "cases alone, this list is of all"
    return f"The bench counts {text.count(n_like)}: {why}."
