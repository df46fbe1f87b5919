"""What to say, and to do, where too few returns are confirmed to tell faults apart."""

from collections.abc import Sequence
from functools import lru_cache
from typing import cast

from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.filters import Filters
from ingest import catalogue

NONE_CONFIRMED = (
    "No return is confirmed yet: the shares rest on the expert table alone. Record "
    "what each return proves to be, take the records in, then `mendfleet publish`."
)
ONE_MODE = (
    "{all_cases} confirmed as {label}: against other faults the shares rest on the "
    "expert table alone. Take in returns confirmed as something else too."
)


def few_cases_hints(snapshot: Snapshot, n_cases: int) -> Sequence[str]:
    """Return what to say of the confirmed returns, nothing where they are of many.

    Parameters
    ----------
    snapshot : Snapshot
    n_cases : int
        Confirmed returns behind the suggestions.
    """
    if n_cases == 0:
        return [NONE_CONFIRMED]
    mode = _only_mode(snapshot)
    if mode is None:
        return []
    all_cases = (
        "The one confirmed return is"
        if n_cases == 1
        else f"All {text.count(n_cases)} confirmed returns are"
    )
    label = catalogue.failure_modes()[mode].label
    return [ONE_MODE.format(all_cases=all_cases, label=label)]


@lru_cache(maxsize=4)
def _only_mode(snapshot: Snapshot) -> str | None:
    # Figures never change: asked once for all the checks of all the returns.
    counts = snapshot.ask("mode_counts", Filters().parameters(), chosen="chosen_cases")
    modes = counts["mode"].dropna().tolist()
    return cast("str", modes[0]) if len(modes) == 1 else None
