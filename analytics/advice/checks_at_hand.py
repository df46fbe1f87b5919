"""The check x mode table read once: one entry per check."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import pandas as pd

from ingest.catalogue import codes

# Chance that a check fails under a cause it does not bear on: a slip, a second fault.
DEFAULT_P_FAIL = 0.02
# The hazard that is barred before the gate is open.
BARRED = "live"
PROVED_DEAD = "proved_dead"
# Looks into records only and touches nothing, so it may come before proved_dead.
RECORDS_ONLY = "settings_and_log"
REQUIRED = ("check", "cause", "p_fail", "confirms", "minutes", "hazard", "gate")


@dataclass(slots=True)
class CheckAtHand:
    """One check of the table with its causes.

    `links` is cause to (chance to fail, whether a fail confirms the cause).
    """

    code: str
    minutes: float
    hazard: str
    gate: bool
    needs: tuple[str, ...]
    links: dict[str, tuple[float, bool]] = field(default_factory=dict)

    def p_fail_of(self, causes: list[str]) -> npt.NDArray[np.float64]:
        """Return P(fail | cause) in the order of `causes`."""
        other = (DEFAULT_P_FAIL, False)
        return np.array([self.links.get(cause, other)[0] for cause in causes])

    def confirms_of(self, causes: list[str]) -> npt.NDArray[np.bool_]:
        """Return whether a fail confirms each cause, in the order of `causes`."""
        other = (DEFAULT_P_FAIL, False)
        return np.array([self.links.get(cause, other)[1] for cause in causes], bool)


def checks_at_hand(check_table: pd.DataFrame) -> dict[str, CheckAtHand]:
    """Read a check x mode table.

    Parameters
    ----------
    check_table : DataFrame
        As `first_check.next_check` takes it.

    Returns
    -------
    dict of str to CheckAtHand
        In the order of the table. Where rows of a check disagree the stricter one
        stands: live if one says live, gate if one says gate, the longest minutes.

    Raises
    ------
    ValueError
        If a column is missing, a hazard is not known, minutes are not above 0 or a
        chance is not between 0 and 1.
    """
    missing = [name for name in REQUIRED if name not in check_table.columns]
    if missing:
        raise ValueError(f"the check table lacks the column {', '.join(missing)}")
    found: dict[str, CheckAtHand] = {}
    for row in check_table.to_dict("records"):
        entry = _entry({str(name): value for name, value in row.items()})
        known = found.setdefault(entry.code, entry)
        known.minutes = max(known.minutes, entry.minutes)
        known.gate = known.gate or entry.gate
        known.hazard = (
            BARRED if BARRED in (known.hazard, entry.hazard) else known.hazard
        )
        known.needs = tuple(dict.fromkeys([*known.needs, *entry.needs]))
        known.links.update(entry.links)
    return found


def _entry(row: Mapping[str, object]) -> CheckAtHand:
    code, hazard = _text(row["check"]), _text(row["hazard"])
    if hazard not in codes("hazards"):
        raise ValueError(
            f"{code}: hazard must be one of {', '.join(codes('hazards'))}, not"
            f" {hazard!r}"
        )
    minutes = float(str(row["minutes"]))
    if not 0 < minutes < np.inf:
        raise ValueError(f"{code}: minutes must be above 0, not {row['minutes']!r}")
    needs = tuple(part.strip() for part in _text(row.get("needs")).split(";") if part)
    entry = CheckAtHand(code, minutes, hazard, _flag(row["gate"]), needs)
    cause = _text(row["cause"])
    if cause:
        p_fail = float(str(row["p_fail"]))
        if not 0 <= p_fail <= 1:
            raise ValueError(f"{code}, {cause}: {p_fail} is no chance to fail")
        entry.links[cause] = (p_fail, _flag(row["confirms"]))
    return entry


def _text(value: object) -> str:
    if (
        value is None
        or value is pd.NA
        or (isinstance(value, float) and np.isnan(value))
    ):
        return ""
    return str(value).strip()


def _flag(value: object) -> bool:
    """Read yes and no, also as text, number or truth value; empty is no."""
    return _text(value).lower() in ("true", "yes", "1", "1.0")
