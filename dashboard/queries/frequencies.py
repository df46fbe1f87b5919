"""How often, beside the counts of modes: rates, groups, change, months, pairs."""

from collections.abc import Mapping, Sequence

from analytics.rollup.snapshot import Snapshot
from dashboard.filters import Filters
from dashboard.queries.answer import Row
from dashboard.queries.frequencies_basis import basis, left_out
from dashboard.queries.frequencies_cross import cross_tables
from dashboard.queries.frequencies_groups import ages_and_groups
from dashboard.queries.frequencies_months import months
from dashboard.queries.frequencies_rates import change, rates
from dashboard.queries.frequencies_shipped import shipped
from dashboard.queries.frequencies_subjects import subjects
from dashboard.queries.frequencies_words import (
    basis_sentence,
    dispersion,
    dispersion_sentences,
    left_out_sentences,
    notes,
)
from dashboard.queries.repeats import repeats


def frequencies(
    snapshot: Snapshot, filters: Filters, modes: Sequence[Row]
) -> Mapping[str, object]:
    """Return everything about frequencies beside the table of modes.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters
        `from` and `to` choose by the day of receipt.
    modes : sequence of dict
        Rows of the answer about modes.

    Returns
    -------
    dict
        subjects, rates, rate_basis (first_day, last_day, complete_through, unit_years,
        n_listed, refused, left_out, dispersion, sentence, sentences), shipped, ages,
        groups (by dimension), change, months, month_ages, pairs (by dimension), tests,
        repeats (rows and more of `repeats`), notes (sentences about what could distort
        the numbers).
    """
    based = basis(snapshot, filters)
    ages, groups = ages_and_groups(snapshot, based)
    by_month, by_month_and_age = months(snapshot, based)
    pairs, tests = cross_tables(snapshot, filters)
    left = shipped(snapshot, based)
    varies = dispersion(snapshot)
    back = repeats(snapshot, filters)
    return {
        "subjects": subjects(snapshot, filters, modes),
        "rates": rates(based),
        "rate_basis": {
            "first_day": based.span.first if based.span else None,
            "last_day": based.span.last if based.span else None,
            "complete_through": based.complete,
            "unit_years": based.unit_years,
            "n_listed": based.service.n_listed,
            "refused": based.refused,
            "left_out": left_out(based.counts),
            "sentence": basis_sentence(based),
            "dispersion": varies,
            "sentences": [*left_out_sentences(based), *dispersion_sentences(varies)],
        },
        "shipped": left["rows"],
        "ages": ages,
        "groups": groups,
        "change": change(snapshot, based),
        "months": by_month,
        "month_ages": by_month_and_age,
        "pairs": pairs,
        "tests": tests,
        "repeats": {**back.more, "rows": back.rows},
        "notes": notes(snapshot, filters, based, groups, left),
    }
