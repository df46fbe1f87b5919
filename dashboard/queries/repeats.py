"""Which repairs last: units that come back within 90 days of one."""

from typing import cast

import numpy as np
import pandas as pd

from analytics.rollup.snapshot import Snapshot
from analytics.statistics.intervals import binomial_interval
from analytics.statistics.life import kaplan_meier
from dashboard.filters import Filters
from dashboard.queries.answer import Answer, Row
from ingest import catalogue

WITHIN_DAYS = 90
LEFT_SERVICE = ("scrapped", "unit_replaced")
FEWEST = 10  # own choice: with fewer repairs followed a share says next to nothing
ALL = "All repairs"
NOT_RECORDED = "not recorded"
TOO_FEW = "too few followed to say"

METHOD = (
    "Repairs: closed cases with a confirmed mode whose unit was neither scrapped nor "
    "replaced. Back: received again within 90 days of the close, whatever came of it. "
    "Share among the repairs that are 90 days older than the observation end, with its "
    "exact (Clopper-Pearson) 95 % interval; beside it the share by the Kaplan-Meier "
    "curve of all repairs, younger ones included, with log-log limits. A unit repaired "
    "twice counts as two repairs. No repair is shown to cause a return: harder faults "
    "come back more often, whoever repairs them."
)


def repeats(snapshot: Snapshot, filters: Filters) -> Answer:
    """Return how often units come back within 90 days, by mode and kind of repair.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters
        `from` and `to` choose by the day of receipt of the case repaired.

    Returns
    -------
    Answer
        Rows, the first for all repairs together (mode None), then most repairs first:
        mode, label, kind_of_repair (disposition, or "not recorded"), n_repairs,
        n_followed, n_back, n_same (back with the same mode confirmed), share, low,
        high, share_by_curve, curve_low, curve_high (None where none came back),
        n_by_curve (repairs behind it), said (None, or that too few were followed; the
        shares are then None). More: within_days, n_repairs, n_followed, n_back,
        left_out (confirmed cases that are no repair, by reason), sentence.
    """
    asked = filters.parameters() | {
        "within": WITHIN_DAYS,
        "left_service": list(LEFT_SERVICE),
    }
    found = snapshot.ask("repairs_back", asked, chosen="chosen_cases")
    lost = snapshot.ask("repairs_left_out", asked, chosen="chosen_cases")
    first: Row = {"mode": None, "label": ALL, "kind_of_repair": None}
    total = first | _counted(found)
    modes = catalogue.failure_modes()
    kinds = found["disposition"].fillna(NOT_RECORDED)
    rows: list[Row] = []
    for key, of_kind in found.groupby([found["mode"], kinds]):
        mode, kind = map(str, cast("tuple[str, str]", key))
        names: Row = {"mode": mode, "label": modes[mode].label, "kind_of_repair": kind}
        rows.append(names | _counted(of_kind))
    rows.sort(key=lambda row: (-int(str(row["n_repairs"])), str(row["label"])))
    return Answer(
        about=snapshot.about,
        filters=filters,
        method=METHOD,
        rows=[total, *rows] if rows else [],
        more={
            "within_days": WITHIN_DAYS,
            "n_repairs": total["n_repairs"],
            "n_followed": total["n_followed"],
            "n_back": total["n_back"],
            "left_out": dict(
                zip(lost["reason"].map(str), map(int, lost["n_cases"]), strict=True)
            ),
            "sentence": _sentence(total),
        },
        invented=snapshot.about.is_invented,
    )


def _counted(found: pd.DataFrame) -> Row:
    is_early = found["is_back"] & (found["days"] <= WITHIN_DAYS)
    n_followed = int(found.loc[found["is_followed"], "n_repairs"].sum())
    n_back = int(found.loc[found["is_followed"] & is_early, "n_repairs"].sum())
    row: Row = {
        "n_repairs": int(found["n_repairs"].sum()),
        "n_followed": n_followed,
        "n_back": n_back,
        "n_same": int(found.loc[found["is_followed"] & is_early, "n_same"].sum()),
    }
    nothing: Row = dict.fromkeys(
        ("share", "low", "high", "share_by_curve", "curve_low", "curve_high")
    )
    if n_followed < FEWEST:
        return row | nothing | {"n_by_curve": _n_seen(found), "said": TOO_FEW}
    low, high = binomial_interval(n_back, n_followed, method="clopper-pearson")
    row |= {"share": n_back / n_followed, "low": float(low), "high": float(high)}
    return row | _by_curve(found) | {"said": None}


def _n_seen(found: pd.DataFrame) -> int:
    return int(found.loc[found["days"] >= 0, "n_repairs"].sum())


def _by_curve(found: pd.DataFrame) -> Row:
    seen = found[found["days"] >= 0]
    # Nothing after the day asked about bears on it.
    days = np.minimum(seen["days"].to_numpy(dtype=np.int64), WITHIN_DAYS + 1)
    n = seen["n_repairs"].to_numpy(dtype=np.int64)
    is_back = (seen["is_back"] & (seen["days"] <= WITHIN_DAYS)).to_numpy(dtype=bool)
    curve = kaplan_meier(days, np.where(is_back, n, 0), np.where(is_back, 0, n))
    at = int(np.searchsorted(curve.age, WITHIN_DAYS, side="right")) - 1
    found_by: Row = {"share_by_curve": 0.0, "curve_low": None, "curve_high": None}
    if is_back.any():  # before the first return the limits of a curve hold nothing
        found_by = {
            "share_by_curve": 1 - float(curve.survival[at]),
            "curve_low": 1 - float(curve.high[at]),
            "curve_high": 1 - float(curve.low[at]),
        }
    return found_by | {"n_by_curve": int(n.sum())}


def _sentence(total: Row) -> str:
    if total["share"] is None:
        return (
            "The data do not say yet how many repairs come back within "
            f"{WITHIN_DAYS} days: needed at least {FEWEST} repairs followed so long, "
            f"found {total['n_followed']}."
        )
    share, low, high = (100 * float(str(total[k])) for k in ("share", "low", "high"))
    return (
        f"Back within {WITHIN_DAYS} days of a repair: {total['n_back']} of "
        f"{total['n_followed']} followed so long ({share:.0f} %, 95 % interval "
        f"{low:.0f} to {high:.0f} %)."
    )
