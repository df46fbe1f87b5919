"""Why one fault is likelier than another, as shown: lines that add up."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import cast

from analytics.advice.reasons import NOT_FOUND, Reason
from analytics.advice.suggestions import Suggestions
from dashboard import text
from dashboard.queries.answer import Row
from ingest import catalogue

SHOWN_REASONS = 4
EVERYTHING_ELSE = "everything else known at intake"
OTHER_CHECKS = "the other checks noted"
# The code list that the codes of a block of evidence are in.
LABELLED: Mapping[str, str] = {
    "sym": "symptoms",
    "symno": "symptoms",
    "find": "findings",
    "env": "environments",
    "conn": "connectors",
}


@dataclass(frozen=True, slots=True)
class Line:
    """One piece of evidence for a fault against another.

    `n_seen` of `n_of` cases of the fault carry it; None where nothing is counted.
    """

    what: str
    log_odds: float
    n_seen: int | None = None
    n_of: int | None = None

    def row(self) -> Row:
        """Return the line as the answer shows it."""
        return {
            "what": self.what,
            "log_odds": self.log_odds,
            "factor": math.exp(self.log_odds),
            "n_seen": self.n_seen,
            "n_of": self.n_of,
        }


def reason_rows(
    found: Suggestions, mode: str, against: str, of_checks: Sequence[Reason]
) -> list[Row]:
    """Return why a mode against another, strongest first, the rest in lines of its own.

    Parameters
    ----------
    found : Suggestions
        Of the intake.
    mode, against : str
    of_checks : sequence of Reason
        What the checks noted say for the one against the other.

    Returns
    -------
    list of dict
        what, log_odds, factor, n_seen, n_of. The log-odds add up to
        ln(probability of mode / probability of against) after the checks.
    """
    checks = catalogue.checks()
    noted = [
        Line(f"{checks[reason.code].label} {reason.state}", reason.log_odds)
        for reason in of_checks
    ]
    lines = [
        *_shortened(_intake_lines(found, mode, against), EVERYTHING_ELSE),
        *_shortened(noted, OTHER_CHECKS),
    ]
    return [line.row() for line in lines]


def reason_words(reason: Row) -> str:
    """Return one reason in words, the same on page and command."""
    factor = cast("float", reason["factor"])
    side = "for" if factor >= 1 else "against"
    words = f"{reason['what']}: {text.TIMES}{float(f'{factor:.2g}'):g} {side}"
    if reason["n_of"] is None:
        return words
    if not reason["n_of"]:
        return f"{words} (no own case)"
    return f"{words} (seen in {reason['n_seen']} of {reason['n_of']})"


def _shortened(lines: Sequence[Line], rest_words: str) -> list[Line]:
    shown, rest = lines[:SHOWN_REASONS], lines[SHOWN_REASONS:]
    if not rest:
        return list(shown)
    return [*shown, Line(rest_words, math.fsum(line.log_odds for line in rest))]


def _intake_lines(found: Suggestions, mode: str, against: str) -> list[Line]:
    lines = [
        Line(_what(reason), reason.log_odds, reason.n_seen, reason.n_of)
        for reason in found.reasons_of(mode, against)
    ]
    return sorted(lines, key=lambda line: (-abs(line.log_odds), line.what))


def _what(reason: Reason) -> str:
    if reason.block == "text":
        return "the words of the complaint"
    code = reason.code
    if reason.state == NOT_FOUND:
        return "nothing else found" if "other" in code else "nothing found"
    kind = LABELLED.get(reason.block)
    if kind and code in catalogue.codes(kind):
        code = f'"{catalogue.codes(kind)[code].label}"'
    return f"{reason.state} {code}".rstrip()
