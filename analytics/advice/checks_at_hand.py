"""The check x mode table read once: one entry per check."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

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
_OTHER = (DEFAULT_P_FAIL, False)


@dataclass(frozen=True, slots=True)
class CheckAtHand:
    """One check of the table with its causes.

    `links` is cause to (chance to fail, whether a fail confirms the cause).
    """

    code: str
    minutes: float
    hazard: str
    gate: bool
    needs: tuple[str, ...]
    links: Mapping[str, tuple[float, bool]]

    def p_fail_of(self, causes: list[str]) -> npt.NDArray[np.float64]:
        """Return P(fail | cause) in the order of `causes`."""
        return np.array([self.links.get(cause, _OTHER)[0] for cause in causes])

    def confirms_of(self, causes: list[str]) -> npt.NDArray[np.bool_]:
        """Return whether a fail confirms each cause, in the order of `causes`."""
        return np.array([self.links.get(cause, _OTHER)[1] for cause in causes], bool)


class ChecksAtHand(Mapping[str, CheckAtHand]):
    """A check x mode table that has been read, and cannot be changed.

    Whoever asks several times of one table reads it once, with `checks_at_hand`.
    """

    __slots__ = ("_checks",)

    def __init__(self, checks: Iterable[CheckAtHand]) -> None:
        self._checks = {check.code: check for check in checks}

    def __getitem__(self, code: str) -> CheckAtHand:
        return self._checks[code]

    def __iter__(self) -> Iterator[str]:
        return iter(self._checks)

    def __len__(self) -> int:
        return len(self._checks)


CheckTable = pd.DataFrame | ChecksAtHand


def checks_at_hand(check_table: CheckTable) -> ChecksAtHand:
    """Read a check x mode table; one that has been read is returned as it is.

    Parameters
    ----------
    check_table : DataFrame or ChecksAtHand
        As `first_check.next_check` takes it.

    Returns
    -------
    ChecksAtHand
        In the order of the table. Where rows of a check disagree the stricter one
        stands: live if one says live, gate if one says gate, the longest minutes.

    Raises
    ------
    ValueError
        If a column is missing, a hazard is not known, minutes are not above 0 or a
        chance is not between 0 and 1.
    """
    if isinstance(check_table, ChecksAtHand):
        return check_table
    missing = [name for name in REQUIRED if name not in check_table.columns]
    if missing:
        raise ValueError(f"the check table lacks the column {', '.join(missing)}")
    found: dict[str, CheckAtHand] = {}
    for row in check_table.to_dict("records"):
        entry = _entry({str(name): value for name, value in row.items()})
        known = found.get(entry.code)
        found[entry.code] = _stricter(known, entry) if known else entry
    return ChecksAtHand(found.values())


def _stricter(known: CheckAtHand, entry: CheckAtHand) -> CheckAtHand:
    return CheckAtHand(
        code=known.code,
        minutes=max(known.minutes, entry.minutes),
        hazard=BARRED if BARRED in (known.hazard, entry.hazard) else known.hazard,
        gate=known.gate or entry.gate,
        needs=tuple(dict.fromkeys([*known.needs, *entry.needs])),
        links=MappingProxyType({**known.links, **entry.links}),
    )


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
    links: dict[str, tuple[float, bool]] = {}
    cause = _text(row["cause"])
    if cause:
        p_fail = float(str(row["p_fail"]))
        if not 0 <= p_fail <= 1:
            raise ValueError(f"{code}, {cause}: {p_fail} is no chance to fail")
        links[cause] = (p_fail, _flag(row["confirms"]))
    return CheckAtHand(
        code=code,
        minutes=minutes,
        hazard=hazard,
        gate=_flag(row["gate"]),
        needs=needs,
        links=MappingProxyType(links),
    )


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
