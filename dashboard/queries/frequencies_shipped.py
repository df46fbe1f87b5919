"""Returns per 1 000 units shipped, where the register does not hold the units."""

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from analytics.rollup.snapshot import Snapshot
from analytics.statistics.intervals import poisson_interval
from dashboard import text
from dashboard.queries.answer import Row
from dashboard.queries.frequencies_basis import PER_UNITS, Basis, span_parameters
from dashboard.queries.quality_doubts import MAINLY

KNOWN_SHARE = 0.5  # own choice: a register of fewer than half of the shipped is partial
REGISTERED = "the register holds these units: see the rate by years in service"
PARTIAL = "the register holds {n} of them"
RETURNS = "the register holds mainly units that came back"
NOBODY = "none is in the register, so no return tells this model"
TOGETHER = "returns of units not in the register, over all models without one"
ALL = "all models without a register"
NAMED = 3

Lot = tuple[str, str | None]  # model, lot
Cases = tuple[int, int]  # cases, of these confirmed failures
NOT_LISTED: Lot = ("", None)  # units that are not in the register


def shipped(snapshot: Snapshot, basis: Basis) -> Row:
    """Return cases per 1 000 units shipped, by model and lot.

    Parameters
    ----------
    snapshot : Snapshot
    basis : Basis

    Returns
    -------
    dict
        rows: model, lot (None: the shipments name none), n_shipped, n_registered,
        n_cases, n_failures, rate, low, high (cases, repeats included, per 1 000
        shipped; exact Poisson limits; None with the reason in `basis`). The last row,
        where there is one, takes all models without a register together. gaps:
        sentences about months without shipments.
    """
    last = basis.filters.to or basis.about.as_of
    asked = basis.filters.parameters() | span_parameters(snapshot) | {"last_day": last}
    units = snapshot.ask("shipped_units", asked)
    if units.empty:
        return {"rows": [], "gaps": []}
    cases = snapshot.ask("shipped_cases", asked, chosen="chosen_cases")
    listed = [{str(k): v for k, v in line.items()} for line in units.to_dict("records")]
    of_lots = _by_lot(cases)
    rows = [_row(line, of_lots) for line in listed]
    unregistered = [line for line in listed if not line["n_registered"]]
    unknown = of_lots.get(NOT_LISTED)
    if unregistered and unknown:
        rows.append(_together(unregistered, unknown))
    return {"rows": rows, "gaps": _gaps(listed)}


def _by_lot(cases: pd.DataFrame) -> Mapping[Lot, Cases]:
    """Return cases and failures by model and lot, and by model alone (lot None)."""
    sums: dict[Lot, Cases] = {}
    for model, lot, is_listed, n_cases, n_failures in cases.itertuples(index=False):
        keys: set[Lot] = {(str(model), None)} if is_listed else {NOT_LISTED}
        if is_listed and not pd.isna(lot):
            keys.add((str(model), str(lot)))
        for key in keys:
            before = sums.get(key, (0, 0))
            sums[key] = (before[0] + int(n_cases), before[1] + int(n_failures))
    return sums


def _row(line: Mapping[str, Any], of_lots: Mapping[Lot, Cases]) -> Row:
    lot = None if pd.isna(line["lot"]) else str(line["lot"])
    own = of_lots.get((str(line["model"]), lot), (0, 0))
    n_shipped, n_registered = int(line["n_shipped"]), int(line["n_registered"])
    if not n_registered:
        why, has_rate = NOBODY, False
    elif line["n_returned"] > MAINLY * n_registered:
        why, has_rate = RETURNS, True
    elif n_registered < KNOWN_SHARE * n_shipped:
        why, has_rate = PARTIAL.format(n=text.count(n_registered)), True
    else:
        why, has_rate = REGISTERED, False
    return {"model": str(line["model"]), "lot": lot} | _counted(
        n_shipped, n_registered, own, why=why, has_rate=has_rate
    )


def _together(lines: Sequence[Mapping[str, Any]], unknown: Cases) -> Row:
    n_shipped = sum(int(line["n_shipped"]) for line in lines)
    return {"model": ALL, "lot": None} | _counted(
        n_shipped, 0, unknown, why=TOGETHER, has_rate=True
    )


def _counted(
    n_shipped: int, n_registered: int, cases: Cases, *, why: str, has_rate: bool
) -> Row:
    n_cases, n_failures = cases
    row: Row = {
        "n_shipped": n_shipped,
        "n_registered": n_registered,
        "n_cases": n_cases,
        "n_failures": n_failures,
        "rate": None,
        "low": None,
        "high": None,
        "basis": why,
    }
    if not has_rate or not n_shipped:
        return row
    low, high = poisson_interval(n_cases, float(n_shipped))
    return row | {
        "rate": PER_UNITS * n_cases / n_shipped,
        "low": PER_UNITS * float(low),
        "high": PER_UNITS * float(high),
    }


def _gaps(lines: Sequence[Mapping[str, Any]]) -> list[str]:
    with_gap = []
    for line in lines:
        first, last = (
            pd.Timestamp(line[name]) for name in ("first_month", "last_month")
        )
        n_all = 12 * (last.year - first.year) + last.month - first.month + 1
        missing = n_all - int(line["n_months"])
        if missing:
            lot = "" if pd.isna(line["lot"]) else f" lot {line['lot']}"
            with_gap.append(f"{line['model']}{lot} {text.counted(missing, 'month')}")
    if not with_gap:
        return []
    rest = len(with_gap) - NAMED
    more = f" and {rest} more" if rest > 0 else ""
    said = (
        "No shipments are on record in months between the first and the last: "
        f"{', '.join(with_gap[:NAMED])}{more}. If units left then, the rates per 1 000 "
        "shipped are too high."
    )
    return [said]
