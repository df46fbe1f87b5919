"""Cases with a confirmed cause, in the order of time, and how they are split."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.advice.evidence import (
    Evidence,
    Flags,
    Floats,
    Integers,
    is_missing,
    read_cases,
)
from analytics.advice.expert_prior import Label, plain_label

Date = dt.date | str
NEWEST = 0.15  # share of the newest cases that is held out

_LONG_AGO = -np.inf
_EPOCH = dt.date(1970, 1, 1).toordinal()


@dataclass(frozen=True, slots=True)
class LabelledCases:
    """n cases with a confirmed cause, oldest first.

    `cause` indexes a list of causes kept by the caller. `day` is the day received
    since 1970, or the row number where no dates are given; `confirmed_day` is on the
    same scale, minus infinity where it says nothing. `weight` is 0 to 1.
    """

    evidence: Evidence
    cause: Integers
    weight: Floats
    day: Floats
    confirmed_day: Floats
    serial: list[str | None]
    is_dated: bool

    def __len__(self) -> int:
        return len(self.cause)

    def take(self, rows: Integers) -> "LabelledCases":
        """Return some cases, in the order of `rows`."""
        return LabelledCases(
            evidence=self.evidence.take(rows),
            cause=self.cause[rows],
            weight=self.weight[rows],
            day=self.day[rows],
            confirmed_day=self.confirmed_day[rows],
            serial=[self.serial[row] for row in rows],
            is_dated=self.is_dated,
        )

    def split(self, share: float = NEWEST) -> "tuple[LabelledCases, LabelledCases]":
        """Return older and newest cases, as they would have been known then.

        The newest `share` of the cases stays whole. From the older ones go those
        confirmed after the first of the newest was received, and the earlier returns
        of a unit that is among the newest: one serial stands on one side.
        """
        cut = len(self) - round(share * len(self))
        newest = np.arange(cut, len(self))
        held_out = {self.serial[row] for row in newest} - {None}
        first_day = self.day[cut] if len(newest) else np.inf
        older = [
            row
            for row in range(cut)
            if self.confirmed_day[row] <= first_day and self.serial[row] not in held_out
        ]
        return self.take(np.array(older, dtype=np.int64)), self.take(newest)


@dataclass(frozen=True, slots=True)
class Intake:
    """What was read from the cases given for training."""

    labelled: LabelledCases
    causes: tuple[Label, ...]
    n_unlabelled: int
    n_after_as_of: int
    as_of: str | None
    by_month: dict[str, tuple[int, int]]  # month -> cases, of them unlabelled


def read_labelled(
    cases: pd.DataFrame,
    cause: Sequence[object],
    *,
    as_of: Date | None,
    more_causes: set[Label],
    weight: Sequence[float] | None,
    rng: np.random.Generator,
) -> Intake:
    """Drop what has no confirmed cause by `as_of`, and order the rest by time.

    Cases of one day are put in random order: a file sorted by cause within the day
    would else send one cause to one side of a cut.

    Raises
    ------
    ValueError
        `cause` or `weight` of another length than the cases, or a weight outside
        0 to 1.
    """
    if len(cause) != len(cases):
        raise ValueError(f"{len(cases)} cases but {len(cause)} causes")
    trust = np.ones(len(cases)) if weight is None else np.asarray(weight, dtype=float)
    if trust.shape != (len(cases),) or not ((trust >= 0) & (trust <= 1)).all():
        raise ValueError("weight holds one number from 0 to 1 per case")
    labels = [plain_label(label) for label in cause]
    dates = _read_dates(cases, as_of)
    has_label = np.array([label is not None for label in labels], dtype=bool)
    rows = np.flatnonzero(has_label & dates.is_closed)
    if dates.is_dated:
        rows = rows[np.lexsort((rng.random(len(rows)), dates.received[rows]))]
    used = [label for row in rows if (label := labels[row]) is not None]
    causes = tuple(sorted({*used, *more_causes}, key=str))
    index = {label: i for i, label in enumerate(causes)}
    labelled = LabelledCases(
        evidence=read_cases(cases.iloc[rows]),
        cause=np.array([index[label] for label in used], dtype=np.int64),
        weight=trust[rows],
        day=dates.received[rows],
        confirmed_day=dates.confirmed[rows],
        serial=_serials(cases.iloc[rows]),
        is_dated=dates.is_dated,
    )
    return Intake(
        labelled=labelled,
        causes=causes,
        n_unlabelled=int((dates.is_received & ~has_label).sum()),
        n_after_as_of=int((~dates.is_received | (has_label & ~dates.is_closed)).sum()),
        as_of=_as_of_text(as_of, labelled),
        by_month=_by_month(dates, has_label),
    )


@dataclass(frozen=True, slots=True)
class _Dates:
    received: Floats  # days since 1970, or row numbers; minus infinity if unknown
    confirmed: Floats  # the same; minus infinity throughout if not dated
    is_received: Flags  # by as_of
    is_closed: Flags  # received and, if labelled, confirmed by as_of
    is_dated: bool


def _read_dates(cases: pd.DataFrame, as_of: Date | None) -> _Dates:
    end = np.inf if as_of is None else _day(as_of)
    received = _days(cases, "received_on")
    # A label without a date of confirmation counts from the day of receipt.
    confirmed = np.maximum(_days(cases, "confirmed_on"), received)
    is_received = received <= end
    is_closed = is_received & (confirmed <= end)
    if "received_on" not in cases:
        order = np.arange(len(cases), dtype=float)
        early = np.full(len(cases), _LONG_AGO)
        return _Dates(order, early, is_received, is_closed, is_dated=False)
    return _Dates(received, confirmed, is_received, is_closed, is_dated=True)


def _days(cases: pd.DataFrame, name: str) -> Floats:
    if name not in cases:
        return np.full(len(cases), _LONG_AGO)
    return np.array([_day(cell) for cell in cases[name].tolist()], dtype=float)


def _day(cell: object) -> float:
    if is_missing(cell):
        return _LONG_AGO
    if isinstance(cell, str):
        cell = dt.date.fromisoformat(cell.strip()[:10])
    if not isinstance(cell, dt.date):
        # A wrong cell is a wrong value to the caller, whatever its type.
        message = f"a date is ISO 8601 text or a date, got {cell!r}"
        raise ValueError(message)  # noqa: TRY004 - see above
    return float(cell.toordinal() - _EPOCH)


def _serials(cases: pd.DataFrame) -> list[str | None]:
    if "serial" not in cases:
        return [None] * len(cases)
    return [None if is_missing(c) else str(c) for c in cases["serial"].tolist()]


def _as_of_text(as_of: Date | None, labelled: LabelledCases) -> str | None:
    if as_of is not None:
        return _date(_day(as_of)).isoformat()
    if not labelled.is_dated or not len(labelled) or np.isinf(labelled.day[-1]):
        return None
    return _date(labelled.day[-1]).isoformat()


def month_of(day: float) -> str:
    """Return the month (YYYY-MM) of a day since 1970, "" if unknown."""
    return "" if np.isinf(day) else _date(day).isoformat()[:7]


def _date(day: float) -> dt.date:
    return dt.date.fromordinal(int(day) + _EPOCH)


def _by_month(dates: _Dates, has_label: Flags) -> dict[str, tuple[int, int]]:
    if not dates.is_dated:
        return {}
    months = [month_of(day) for day in dates.received[dates.is_received]]
    is_open = ~(has_label & dates.is_closed)[dates.is_received]
    table = pd.DataFrame({"month": months, "open": is_open}).groupby("month")["open"]
    counts = table.agg(["size", "sum"])
    pairs = zip(counts["size"].tolist(), counts["sum"].tolist(), strict=True)
    return {
        str(month): (int(n), int(n_open))
        for month, (n, n_open) in zip(counts.index, pairs, strict=True)
    }
