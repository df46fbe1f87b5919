"""The catalogue's links between evidence and failure modes as an expert table."""

import pandas as pd

from analytics.advice.expert_prior import NO_LINK
from ingest import catalogue

# Guesses of how often a mode shows the evidence it is linked to; own counts replace
# them as they come in.
FIRST_NAMED = 0.6
OTHER_LINK = 0.3


def default_expert_table() -> pd.DataFrame:
    """Return the expert table a suggester starts from.

    Returns
    -------
    DataFrame
        One row per linked code and failure mode: `kind` (symptom, finding or
        error_word), `code`, `cause` (the mode), `probability` (0.6 where the mode is
        named first for the code, 0.3 where it is named later, 0.04 where it is not
        named) and `component`. A code that the catalogue links to no mode says
        nothing about any and is left out.

    Notes
    -----
    The order of the links is common practice, without a published source.
    """
    links = catalogue.evidence_links()
    order = {(link.kind, link.code, link.mode): link.order for link in links}
    codes = sorted({(link.kind, link.code) for link in links})
    first = {
        (kind, code): min(o for (k, c, _), o in order.items() if (k, c) == (kind, code))
        for kind, code in codes
    }
    rows = []
    for kind, code in codes:
        for mode in catalogue.failure_modes().values():
            place = order.get((kind, code, mode.code))
            probability = NO_LINK
            if place is not None:
                is_first = place == first[kind, code]
                probability = FIRST_NAMED if is_first else OTHER_LINK
            rows.append((kind, code, mode.code, probability, mode.component))
    columns = ["kind", "code", "cause", "probability", "component"]
    return pd.DataFrame(rows, columns=columns)
