"""What follows from a confirming check that failed: what to isolate, what is found."""

from collections.abc import Iterable, Mapping

from analytics.advice.confirming import OPEN, RULED_OUT, Confirming
from ingest.catalogue import check_modes


def isolations(verdicts: Iterable[Confirming]) -> dict[str, tuple[str, ...]]:
    """Return the checks still to be seen beside failed ones, with what they settle.

    Parameters
    ----------
    verdicts : iterable of Confirming
        As `confirmed_modes` gives them.

    Returns
    -------
    dict of str to tuple of str
        Check to modes, as `next_check` takes it.
    """
    found: dict[str, tuple[str, ...]] = {}
    for verdict in verdicts:
        if verdict.state == OPEN:
            for beside in verdict.beside_missing:
                found[beside.check] = (*found.get(beside.check, ()), verdict.mode)
    return found


def not_isolated(
    verdicts: Iterable[Confirming], outcomes: Mapping[str, str]
) -> tuple[str, ...]:
    """Return the failed checks that confirm nothing: all their modes are ruled out.

    Parameters
    ----------
    verdicts : iterable of Confirming
        As `confirmed_modes` gives them.
    outcomes : mapping of str to str
        Last outcome of each check.
    """
    out = {verdict.mode for verdict in verdicts if verdict.state == RULED_OUT}
    modes: dict[str, set[str]] = {}
    for link in check_modes():
        if link.confirms:
            modes.setdefault(link.check, set()).add(link.mode)
    return tuple(
        check
        for check, outcome in outcomes.items()
        if outcome == "fail" and check in modes and modes[check] <= out
    )
