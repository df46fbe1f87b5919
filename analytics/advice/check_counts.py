"""The check x mode table, brought up to date by what own cases showed.

A chance to fail is (n_failed + 10 p) / (n_done + 10): the catalogue's p counts as ten
cases of its own (mean of a beta posterior; the weight is common practice, no source).
"""

from collections.abc import Mapping
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
    return pd.concat(
        [_moved(table, counts), _added(table, counts)], ignore_index=True
    ).astype(table.dtypes)


def n_learnt_from(table: pd.DataFrame, counts: pd.DataFrame) -> int:
    """Return how many outcomes of own cases moved a chance of a table.

    Outcomes at links that confirm, of checks that bear on no cause, and of checks not
    in the table are not among them.
    """
    confirming = table[table["confirms"].astype(bool)]
    kept = set(zip(confirming["check"], confirming["cause"], strict=True))
    bearing = set(table.loc[table["cause"] != "", "check"])
    return sum(
        int(n)
        for check, mode, n in zip(
            counts["check"], counts["mode"], counts["n_done"], strict=True
        )
        if check in bearing and (check, mode) not in kept
    )


def _learnt(p: float, n_done: float, n_failed: float) -> float:
    return (n_failed + PRIOR_CASES * p) / (n_done + PRIOR_CASES)


def _moved(table: pd.DataFrame, counts: pd.DataFrame) -> pd.DataFrame:
    own: Mapping[tuple[str, str], tuple[float, float]] = {
        (check, mode): (n_done, n_failed)
        for check, mode, n_done, n_failed in counts[list(COUNTS)].itertuples(
            index=False
        )
    }
    return table.assign(
        p_fail=[
            p if confirms else _learnt(p, *own.get((check, cause), (0.0, 0.0)))
            for check, cause, p, confirms in zip(
                table["check"],
                table["cause"],
                table["p_fail"],
                table["confirms"],
                strict=True,
            )
        ]
    )


def _added(table: pd.DataFrame, counts: pd.DataFrame) -> pd.DataFrame:
    held = set(zip(table["check"], table["cause"], strict=True))
    bearing = table[table["cause"] != ""].drop_duplicates("check").set_index("check")
    rows = [
        bearing.loc[check].to_dict()
        | {
            "check": check,
            "cause": mode,
            "p_fail": _learnt(DEFAULT_P_FAIL, n_done, n_failed),
            "confirms": False,
        }
        for check, mode, n_done, n_failed in counts[list(COUNTS)].itertuples(
            index=False
        )
        if check in bearing.index and (check, mode) not in held
    ]
    return pd.DataFrame(rows, columns=table.columns)
