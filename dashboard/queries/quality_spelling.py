"""Lots, suppliers, models and sites that may be one thing spelled in several ways."""

from collections.abc import Sequence
from typing import cast

from analytics.rollup.snapshot import Snapshot
from dashboard.queries.answer import Row
from ingest.mapping.spelling import mapping_lines, spelling_variants

# The field in the files, by the name of the filter.
FIELDS = {
    "lot": "production_lot",
    "cable_supplier": "cable_supplier",
    "model": "model",
    "site": "site",
}


def spelling(snapshot: Snapshot) -> list[Row]:
    """Return fields with values that may be spellings of one thing; merge nothing.

    Returns
    -------
    list of dict
        field; groups (proposed, values: the units by spelling, commonest first);
        mapping_lines: what a person may copy into a mapping file.
    """
    found = snapshot.ask("values_in_use")
    rows: list[Row] = []
    for dimension, field in FIELDS.items():
        of_field = found[found["dimension"] == dimension]
        groups = spelling_variants(
            dict(zip(of_field["value"], map(int, of_field["n_units"]), strict=True))
        )
        if groups:
            rows.append(
                {
                    "field": field,
                    "groups": [
                        {"proposed": group.proposed, "values": group.counts}
                        for group in groups
                    ],
                    "mapping_lines": mapping_lines(field, *groups),
                }
            )
    return rows


def flat_spelling(spelled: Sequence[Row]) -> list[Row]:
    """Return one row for each spelling: field, proposed, value, n_units."""
    return [
        {
            "field": row["field"],
            "proposed": group["proposed"],
            "value": value,
            "n_units": n_units,
        }
        for row in spelled
        for group in cast("Sequence[Row]", row["groups"])
        for value, n_units in cast("dict[str, int]", group["values"]).items()
    ]
