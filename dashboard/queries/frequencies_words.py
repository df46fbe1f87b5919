"""What the numbers about frequencies mean and leave out, in words."""

import math
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import cast

from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.filters import Filters
from dashboard.queries.answer import Row
from dashboard.queries.frequencies_basis import Basis, left_out
from dashboard.queries.quality_spelling import spelling

DOMINANT = 0.5  # a site with more of the cases than this is named
HALF = 0.5
NAMED = 3  # modes named where several are equally common
NOTABLE = 1.1  # dispersion; below, intervals hardly change
MONTHS_A_YEAR = 12
DAYS_A_MONTH = 365.25 / MONTHS_A_YEAR

LEFT_OUT = {
    "unknown_serial": "of units not in the register",
    "no_dates": "of units without usable dates",
    "failed_before_service": "that failed before their unit was in service",
    "failed_before_registration": "that failed before their unit was registered",
    "after_term": "after the warranty term, which others do not report",
    "no_service": "of units that were not in service in that time",
}


def ratio_words(row: Row) -> str:
    """Return a ratio with its interval: "1.8, 95 % interval 1.2 to 2.7"."""
    ratio, low, high = (float(str(row[name])) for name in ("ratio", "low", "high"))
    if math.isnan(ratio):
        return "not known"
    shown = "beyond any number" if math.isinf(ratio) else text.estimate(ratio)
    return f"{shown}, 95 % interval {limits_words(low, high)}"


def limits_words(low: float, high: float) -> str:
    """Return limits as "1.2 to 2.7"; without an upper one as "1.2 or more"."""
    if math.isinf(high):
        return f"{text.estimate(low)} or more"
    return text.interval(low, high)


def commonest_sentence(rows: Sequence[Row]) -> str:
    """Return which failure was confirmed most often, with share, interval and rate.

    Parameters
    ----------
    rows : sequence of dict
        Of the answer about modes, commonest first; what is no failure is passed over.

    Returns
    -------
    str
        That no mode stands out, where several have equally many cases.
    """
    failures = [row for row in rows if row["is_failure"]]
    if not failures:
        return "No failure of a unit is confirmed among these returns yet."
    first = failures[0]
    n_cases, n = (cast("int", first[name]) for name in ("n_cases", "n_confirmed"))
    share, low, high = (cast("float", first[name]) for name in ("share", "low", "high"))
    found = f"{text.count(n_cases)} of {text.counted(n, 'confirmed case')}"
    limits = (
        f"({text.share(share, n)}, 95 % interval {text.share_interval(low, high, n)})"
    )
    tied = [str(row["label"]) for row in failures if row["n_cases"] == n_cases]
    if len(tied) > 1:
        more = f" and {len(tied) - NAMED} more" if len(tied) > NAMED else ""
        named = f"{'; '.join(tied[:NAMED])}{more}"
        return f"No mode stands out: {named} have {found} each {limits}."
    rate, bottom, top = (
        cast("float | None", first[name]) for name in ("rate", "rate_low", "rate_high")
    )
    most = f"Most often: {first['label']}, {found} {limits}"
    if rate is None or bottom is None or top is None:
        return f"{most}."
    n_in_rate = text.counted(cast("int", first["n_in_rate"]), "case")
    return (
        f"{most}; {text.estimate(rate)} per 1 000 units in service and year "
        f"({limits_words(bottom, top)}; {n_in_rate} in complete months)."
    )


def basis_sentence(basis: Basis) -> str:
    """Return what the rates are counted over, or why there are none."""
    if basis.refused or basis.span is None:
        return str(basis.refused)
    return (
        f"Rates: cases received {basis.span.words} over "
        f"{text.count(round(basis.unit_years))} years in service of "
        f"{text.counted(basis.service.n_listed, 'unit')} of the register. Later months "
        f"are not complete and left out of both: failures count as known up to "
        f"{basis.about.observation_end}. Repeat returns count again; time in the "
        "workshop counts as in service."
    )


def dispersion(snapshot: Snapshot) -> float | None:
    """Return how many times a Poisson count's variance failures here have.

    As the watch fits it, the largest over its families; None where it could not.
    """
    found = snapshot.ask("watch_families")["dispersion"].dropna()
    return float(found.max()) if len(found) else None


def dispersion_sentences(found: float | None) -> list[str]:
    """Return how much wider the interval of the rate behind a count is, if it is."""
    if found is None or found < NOTABLE:
        return []
    said = (
        f"Failures here vary {text.estimate(found)} times as much as independent ones "
        "would (measured by the watch): an interval says how precisely this time was "
        f"counted; for the rate behind it read it {text.estimate(math.sqrt(found))} "
        "times as wide."
    )
    return [said]


def left_out_sentences(basis: Basis) -> list[str]:
    """Return which cases of the span no rate counts, a sentence for each reason."""
    return [
        f"Not in the rates: {text.counted(n, 'case')} {LEFT_OUT.get(reason, reason)}."
        for reason, n in left_out(basis.counts).items()
    ]


def notes(
    snapshot: Snapshot,
    filters: Filters,
    basis: Basis,
    groups: Mapping[str, Sequence[Row]],
    shipped: Row,
) -> list[str]:
    """Return what could distort these numbers, each in a sentence.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters
    basis : Basis
    groups : mapping
        Rows of `groups` by dimension.
    shipped : dict
        As `shipped` gives it.
    """
    return [
        *_history(basis),
        *_dominant_site(snapshot, filters),
        *_not_recorded(groups),
        *_spelled_twice(snapshot),
        *cast("list[str]", shipped["gaps"]),
    ]


def _history(basis: Basis) -> list[str]:
    if basis.span is None:
        return []
    days = (basis.span.last - basis.span.first).days + 1
    months = round(days / DAYS_A_MONTH)
    if months >= MONTHS_A_YEAR or basis.filters.from_ or basis.filters.to:
        return []
    on_record = text.counted(months, "complete month")
    said = (
        f"Only {on_record} on record: seasons cannot be told from change, and old age "
        "has hardly been seen."
    )
    return [said]


def _dominant_site(snapshot: Snapshot, filters: Filters) -> list[str]:
    if len(filters.site) == 1:
        return []
    found = snapshot.ask("sites_of_cases", filters.parameters(), chosen="chosen_cases")
    if found.empty:
        return []
    site, n_cases, n_with_site = found.iloc[0]
    if n_cases <= DOMINANT * n_with_site or n_with_site == n_cases == 1:
        return []
    said = (
        f"One site has most of the cases: {site}, {text.count(int(n_cases))} of "
        f"{text.count(int(n_with_site))} with a site on record. Shares here are "
        "largely its own; choose the other sites to see the rest."
    )
    return [said]


def _not_recorded(groups: Mapping[str, Sequence[Row]]) -> list[str]:
    sentences = []
    for dimension, rows in groups.items():
        n_units = sum(int(str(row["n_units"])) for row in rows)
        n_empty = sum(int(str(row["n_units"])) for row in rows if row["value"] is None)
        if n_empty and n_empty < n_units and n_empty >= HALF * n_units:
            sentences.append(
                f"{text.words(dimension).capitalize()} is not recorded for "
                f"{text.count(n_empty)} of {text.count(n_units)} units: groups by it "
                "speak for the others alone."
            )
    return sentences


@lru_cache(maxsize=4)  # no filter chooses them, and looking takes a second
def _spelled_twice(snapshot: Snapshot) -> tuple[str, ...]:
    sentences = []
    for row in spelling(snapshot):
        n = len(cast("Sequence[Row]", row["groups"]))
        first = cast("Sequence[Row]", row["groups"])[0]
        values = ", ".join(cast("Mapping[str, int]", first["values"]))
        more = f" and {n - 1} more" if n > 1 else ""
        sentences.append(
            f"{text.words(str(row['field'])).capitalize()} may be spelled in several "
            f"ways ({values}{more}): each spelling is a group of its own until a "
            "mapping file joins them."
        )
    return tuple(sentences)
