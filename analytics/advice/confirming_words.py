"""How far the readings confirm a mode, in words."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from ingest.catalogue import checks, failure_modes

# Parts of the prose that are to be minded and no conditions: nobody is asked them.
REMARKS: Final = frozenset(
    {
        "corrosion alone is a finding",
        "neutral is a power core",
        "output_voltage_by_state only after the gate",
        "find why before renewing: insulation_resistance",
        "its window supports",
        "pilot voltage good with the cord lifted off",
        "a bench lead proves nothing",
        "energy_reading alone cannot tell it from the meter",
        "insulation_resistance says whether it may be powered",
        "pilot_insulation and insulation_resistance say whether it has done harm",
        "touchable live parts shut the gate",
        "insulation_resistance core to core and core to earth before any repair",
        "insulation_resistance and pilot_insulation before power",
        "handle pins checked too",
    }
)


@dataclass(frozen=True, slots=True)
class Beside:
    """A check that must be seen beside a failed one, at `points` where they matter."""

    check: str
    points: tuple[str, ...]
    must: str

    @property
    def words(self) -> str:
        """The check, where to measure it, and what it must do."""
        where = f" at {', '.join(self.points)}" if self.points else ""
        return f"{checks()[self.check].label}{where} must {self.must}"


def verdict_words(
    mode: str,
    *,
    by: Sequence[str],
    against: Sequence[str],
    missing: Sequence[Beside],
    asks: Sequence[str],
    denied: Sequence[str],
    remarks: Sequence[str],
) -> str:
    """Return what the readings say of a mode, as one sentence.

    Parameters
    ----------
    mode : str
    by, against : sequence of str
        Failed checks that confirm it, and checks that speak against it.
    missing : sequence of Beside
        What must still be seen.
    asks, denied : sequence of str
        What no reading can say: still to be answered, and answered no.
    remarks : sequence of str
        What is to be minded.
    """
    label = failure_modes()[mode].label
    if against:
        return f"{_labels(against)} speaks against {label}."
    if not by:
        return f"No check that confirms {label} has failed yet."
    start = f"{_labels(by)} failed"
    if denied:
        no = _listed(denied)
        said = f"{start}, but not so: {no}. That does not confirm {label}."
    elif missing:
        needed = "; ".join(beside.words for beside in missing)
        said = f"{start}; before {label} counts as confirmed: {needed}."
    elif asks:
        said = f"{start}, which confirms {label} if: {_listed(asks)}."
    else:
        said = f"{start}, with what must be seen beside it: {label} is confirmed."
    return f"{said} Mind: {_listed(remarks)}." if remarks else said


def spelled(part: str) -> str:
    """Write a condition with the labels of checks in place of their codes."""
    return re.sub(r"[a-z]+(_[a-z]+)+", _label_of, part)


def _label_of(found: re.Match[str]) -> str:
    known = checks().get(found[0])
    return f"{known.label[0].lower()}{known.label[1:]}" if known else found[0]


def _listed(parts: Iterable[str]) -> str:
    return "; ".join(spelled(part) for part in parts)


def _labels(codes: Iterable[str]) -> str:
    return ", ".join(checks()[code].label for code in codes)
