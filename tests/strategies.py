"""Hypothesis strategies: rows as a workshop might send them, good and bad."""

import csv
import io

from hypothesis import strategies as st

from ingest import catalogue
from ingest.catalogue import CODE_KINDS

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


# Cells that look like a value of some kind, and nearly like one.
DOUBTFUL = [
    "", " ", "0", "1", "3", "01", "+5", "-1", "1_000", "1.0", "1e3", "7,5", "NaN",
    "2025-01-01", "2025-01-01T00:00:00", "2025-02-30", "2025-1-1", "20250101",
    "2025-03", "2025-03-01T10:20", "2025-03-01 10:20Z", "yes", "YES",
    "EUR", "eur", " EUR ",
    "U-001", "u-001", " U-001", "U 001", "Ü-001", "x" * 41, "x" * 61, "OL", ">2000",
    "<0.1", "ohm", "MOHM", "mΩ", "P1*2", "P1*0", "P1*2;P2*1", "a;b", ";", "ﬁ", "\ta",
    "call 0170 1234567", "a@b.org", "pass", "fail", "not_done", "indoor", "Indoor",
]  # fmt: skip


def hostile_cells(spec, name):
    """Return cells of a field, a good part of them right."""
    codes = [code for kind in CODE_KINDS for code in catalogue.codes(kind)]
    good = {
        "check": sorted(catalogue.checks()),
        "confirmed_mode": sorted(catalogue.failure_modes()),
        "symptoms": sorted(catalogue.codes("symptoms")),
        "symptoms_denied": sorted(catalogue.codes("symptoms")),
        "stage": sorted(catalogue.codes("stages")),
        "unit": ["ohm", "mohm", "V", "s", "%", "K"],
    }
    right = good.get(name, [])
    plain = st.sampled_from([*DOUBTFUL, *right, *codes])
    needed = {
        "serial": "U-001", "case_id": "R1", "model": "A", "received_on": "2025-06-01",
        "check": "pilot_continuity", "taken_at": "2025-06-01", "stage": "intake",
        "month": "2025-06", "shipped_month": "2025-06", "quantity": "1",
        "outcome": "pass", "sessions": "4",
    }  # fmt: skip
    usual = needed.get(name)
    none = st.none() if name not in spec.required else st.just("")
    return st.one_of(st.just(usual), st.just(usual), plain) if usual else none | plain
