"""The check x mode table, brought up to date by what own cases showed.

A chance to fail is (n_failed + 10 p) / (n_done + 10): the catalogue's p counts as ten
cases of its own (mean of a beta posterior; the weight is common practice, no source).
"""

from typing import Final

import pandas as pd

from analytics.advice.checks_at_hand import DEFAULT_P_FAIL

PRIOR_CASES: Final = 10.0
COUNTS: Final = ("check", "mode", "n_done", "n_failed")


def learnt_check_table(table: pd.DataFrame, counts: pd.DataFrame) -> pd.DataFrame:
    """Return a check x mode table with the chances to fail that own cases showed.

    Parameters
    ----------
    table : DataFrame
        As `check_table.default_check_table` gives it.
    counts : DataFrame
        One row per check and mode: check, mode, n_done, n_failed (cases). Only checks
        done whatever was suspected belong in it, or the path advised teaches itself.

    Returns
    -------
    DataFrame
        The rows of `table`, then those of pairs that it did not hold. A link that
        confirms keeps its chance, since its own outcome made the label; a check that
        bears on no cause keeps bearing on none.

    Raises
    ------
    ValueError
        If a column of `counts` is missing, or more cases failed than were done.
    """
    missing = [name for name in COUNTS if name not in counts.columns]
    if missing:
        raise ValueError(f"the counts lack the column {', '.join(missing)}")
    if ((counts["n_failed"] < 0) | (counts["n_failed"] > counts["n_done"])).any():
        raise ValueError("n_failed must lie between 0 and n_done")
    own = _of_checks(table, counts)
    counted = own[["check", "cause", "n_done", "n_failed"]]
    joined = table.merge(counted, how="left", on=["check", "cause"])
    learnt = _learnt(joined.fillna({"n_done": 0, "n_failed": 0})).to_numpy()
    kept = table["confirms"].astype(bool)
    moved = table.assign(p_fail=table["p_fail"].where(kept, learnt))
    held = pd.MultiIndex.from_frame(table[["check", "cause"]])
    is_new = ~pd.MultiIndex.from_frame(own[["check", "cause"]]).isin(held)
    added = own[is_new].assign(p_fail=DEFAULT_P_FAIL, confirms=False)
    added = added.assign(p_fail=_learnt(added))[list(table.columns)]
    return pd.concat([moved, added], ignore_index=True).astype(table.dtypes)


def n_learnt_from(table: pd.DataFrame, counts: pd.DataFrame) -> int:
    """Return how many outcomes of own cases moved a chance of a table.

    Outcomes at links that confirm, of checks that bear on no cause, and of checks not
    in the table are not among them.
    """
    confirming = table[table["confirms"].astype(bool)]
    kept = pd.MultiIndex.from_frame(confirming[["check", "cause"]])
    own = _of_checks(table, counts)
    pairs = pd.MultiIndex.from_frame(own[["check", "cause"]])
    return int(own.loc[~pairs.isin(kept), "n_done"].sum())


def _of_checks(table: pd.DataFrame, counts: pd.DataFrame) -> pd.DataFrame:
    """Return the counts of checks that bear on a cause, with what the table says."""
    bearing = table[table["cause"] != ""].drop_duplicates("check")
    about = bearing.drop(columns=["cause", "p_fail", "confirms"])
    return counts.rename(columns={"mode": "cause"}).merge(about, on="check")


def _learnt(rows: pd.DataFrame) -> pd.Series:
    return (rows["n_failed"] + PRIOR_CASES * rows["p_fail"]) / (
        rows["n_done"] + PRIOR_CASES
    )
