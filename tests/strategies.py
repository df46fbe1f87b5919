"""Hypothesis strategies: rows as a workshop might send them, good and bad."""

import csv
import io

from hypothesis import strategies as st

# Few keys, so that rows of one key meet; cells good, doubtful and wrong.
SERIALS = st.sampled_from(["U-001", "u-001", "U-002", "U-003", "?", "", " U-004 "])
MODELS = st.sampled_from(["A", "B", "", "Ä;\"'", "x" * 61, "two\nlines"])
DAYS = st.sampled_from(["", "2025-01-01", "2025-02-30", "01.02.2025", "2024-12-31"])
NUMBERS = st.sampled_from(["", "7.5", "7.50", "51", "7,5", "1_0"])
# A zero byte makes a file binary, which is refused as a whole: not these tests' matter.
WORDS = st.text(
    st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=5
)
CASES = st.sampled_from(["R1", "R2", "R3", "", "R" * 41])
CHECKS = st.sampled_from(["pilot_continuity", "visual_inspection", "look", ""])
VALUES = st.sampled_from(["", "0.5", "0.50", "OL", ">2", "high"])


def unit_rows():
    return st.fixed_dictionaries(
        {
            "serial": SERIALS,
            "model": MODELS,
            "manufactured_on": DAYS,
            "shipped_on": DAYS,
            "cable_length_m": NUMBERS,
            "colour": WORDS,
        }
    )


def repair_rows():
    return st.fixed_dictionaries(
        {
            "case_id": CASES,
            "serial": SERIALS,
            "received_on": DAYS,
            "failed_on": DAYS,
            "symptoms": st.sampled_from(
                ["", "handle_hot", "handle_hot;none_reported", "heat"]
            ),
            "parts_cost": NUMBERS,
            "currency": st.sampled_from(["", "EUR", "eur"]),
        }
    )


def reading_rows():
    return st.fixed_dictionaries(
        {
            "case_id": CASES,
            "check": CHECKS,
            "taken_at": DAYS,
            "stage": st.sampled_from(["intake", "diagnosis", ""]),
            "point": st.sampled_from(["", "L1"]),
            "value": VALUES,
            "unit": st.sampled_from(["", "ohm", "mohm", "furlong"]),
            "outcome": st.sampled_from(["", "pass", "ok"]),
        }
    )


def tables():
    """Rows of one kind, some of them twice."""
    one_kind = st.sampled_from([unit_rows, repair_rows, reading_rows])
    return one_kind.flatmap(
        lambda rows_of: st.lists(rows_of(), min_size=1, max_size=25)
    )


def as_csv(table, delimiter=","):
    """Return rows as the text of a CSV file."""
    out = io.StringIO()
    writer = csv.DictWriter(out, list(table[0]), delimiter=delimiter)
    writer.writeheader()
    writer.writerows(table)
    return out.getvalue()
