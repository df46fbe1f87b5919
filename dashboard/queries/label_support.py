"""Can the confirmed modes be trusted: which a reading backs, which it contradicts."""

from analytics.advice.label_support import SUPPORTS
from analytics.rollup.snapshot import Snapshot
from analytics.statistics.intervals import binomial_interval
from dashboard.filters import Filters
from dashboard.queries.answer import Answer, rows_of

METHOD = (
    "Confirmed cases held against the readings of intake and diagnosis: backed when a "
    "check that confirms the mode failed and none rules the mode out, contradicted if "
    "one rules it out, doubted when the unit came back within 90 days with the same "
    "symptom, else unbacked. Share of all confirmed cases under the filters with its "
    "exact (Clopper-Pearson) 95 % interval."
)


def label_support(snapshot: Snapshot, filters: Filters) -> Answer:
    """Return which confirmed modes a reading contradicts, and how many it backs.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters
        `from` and `to` choose by the day of receipt.

    Returns
    -------
    Answer
        Rows: the contradicted cases, newest first: case_id, serial, mode,
        contradicted_by, words. More: counts (cases by support), shares (by support:
        share, low, high), n_confirmed, share_backed, low, high; shares are None
        where no case is confirmed.
    """
    asked = filters.parameters()
    found = snapshot.ask("label_counts", asked, chosen="chosen_cases")
    n_cases = dict(zip(found["support"], map(int, found["n_cases"]), strict=True))
    counts = {name: n_cases.get(name, 0) for name in SUPPORTS}
    n_confirmed = sum(counts.values())
    shares = {name: _share(count, n_confirmed) for name, count in counts.items()}
    shown = snapshot.ask("label_contradicted", asked, chosen="chosen_cases")
    backed = shares["backed"]
    return Answer(
        about=snapshot.about,
        filters=filters,
        method=METHOD,
        rows=rows_of(shown),
        more={
            "counts": counts,
            "shares": shares,
            "n_confirmed": n_confirmed,
            "share_backed": backed["share"],
            "low": backed["low"],
            "high": backed["high"],
        },
        invented=snapshot.about.is_invented,
    )


def _share(count: int, total: int) -> dict[str, float | None]:
    if not total:
        return {"share": None, "low": None, "high": None}
    low, high = binomial_interval(count, total, method="clopper-pearson")
    return {"share": count / total, "low": float(low), "high": float(high)}
