"""One case on the bench is weighed as publishing weighs all of them.

An invented fleet with part of its confirmed modes exchanged, so that readings back,
contradict and leave labels alone; the statements in SQL and the bench's own reading of
the same rules were written apart.
"""

import csv
from contextlib import closing

import duckdb
import numpy as np
import openpyxl
import pandas as pd
import pytest

from analytics.advice.confirming import confirming
from analytics.advice.gate import JudgedReading
from analytics.advice.label_support import OUTSIDE_MODES
from analytics.advice.protocol import protocol_left
from analytics.rollup.publish import publish
from analytics.rollup.snapshot import current_snapshot
from dashboard.filters import Filters
from ingest.catalogue import label_rules
from ingest.pipeline import ingest_paths
from synthetic_data.fleet import write_fleet
from tests.counts_alone import counts_alone

FACTS = ["connector", "phases", "supply_system", "ground_fault_device"]


@pytest.fixture(scope="module")
def fleet(tmp_path_factory):
    """Return label support, readings of each case and facts of each unit."""
    folder = tmp_path_factory.mktemp("verdicts")
    made = write_fleet(folder / "files", n_units=3500, seed=5)
    with closing(openpyxl.load_workbook(made.repairs, read_only=True)) as book:
        header, *rows = list(book["repairs"].iter_rows(values_only=True))
    repairs = [dict(zip(header, row, strict=True)) for row in rows]
    repairs = [row for row in repairs if str(row["case_id"]) < "W-8"]
    rng = np.random.default_rng(5)
    modes = sorted({rule.mode for rule in label_rules()} | set(OUTSIDE_MODES))
    file = folder / "repairs.csv"
    with file.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, list(repairs[0]))
        writer.writeheader()
        for row in repairs:
            if row["confirmed_mode"] and rng.random() < 0.6:
                row["confirmed_mode"] = str(rng.choice(modes))
            days = {k: v.date() for k, v in row.items() if hasattr(v, "date")}
            writer.writerow(row | days)
    store = folder / "store.duckdb"
    ingest_paths(store, [made.units, file, made.readings], origin="invented")
    with counts_alone():
        publish(store, folder / "published")
    snapshot = current_snapshot(folder / "published")
    asked = {"parameters": Filters().parameters(), "chosen": "chosen_cases"}
    labels = snapshot.ask("label_support", asked["parameters"], chosen="chosen_cases")
    cases = snapshot.ask("cases", asked["parameters"], chosen="chosen_cases")
    readings = snapshot.ask("readings", asked["parameters"], chosen="chosen_cases")
    with closing(duckdb.connect(str(store), read_only=True)) as connection:
        units = connection.execute("FROM units").df()
    return labels, cases, readings, units


def known(row, names):
    return {name: row[name] for name in names if not pd.isna(row[name])}


def judged(rows):
    rows = rows.sort_values(["taken_at", "sequence", "point"], kind="stable")
    return [
        JudgedReading(
            row["check"],
            row["judged"],
            row["stage"],
            None if pd.isna(row["point"]) else row["point"],
            None if pd.isna(row["condition"]) else row["condition"],
            order=float(place),
            has_value=not pd.isna(row["value"]),
            side=None if pd.isna(row["out_side"]) else row["out_side"],
            day=row["taken_at"].date().isoformat(),
        )
        for place, (_, row) in enumerate(rows.iterrows())
    ]


def listed(text):
    return set() if pd.isna(text) else set(text.split("; "))


def test_the_bench_says_of_each_label_what_publishing_says(fleet):
    labels, cases, readings, units = fleet
    facts = {row["serial"]: known(row, FACTS) for _, row in units.iterrows()}
    symptoms = cases.set_index("case_id")["symptoms"]
    by_case = dict(list(readings.groupby("case_id")))
    counts = {"backed": 0, "unbacked": 0, "contradicted": 0, "outside": 0}
    for row in labels.itertuples():
        context = facts.get(row.serial, {})
        own = judged(by_case.get(row.case_id, readings.iloc[:0]))
        if row.mode in OUTSIDE_MODES:
            told = symptoms[row.case_id]
            words = [] if pd.isna(told) else [w.strip() for w in told.split(";")]
            found = protocol_left(own, context, symptoms=words, outcome=row.mode)
            assert set(found.failed) == listed(row.contradicted_by), row.case_id
            if not found.failed:
                assert bool(found.missing) == pd.isna(row.backed_by), row.case_id
            counts["outside"] += 1
            continue
        verdict = confirming(row.mode, own, context)
        assert set(verdict.by) == listed(row.backed_by), row.case_id
        assert set(verdict.against) == listed(row.contradicted_by), row.case_id
        counts[verdict.support] += 1
    assert min(counts.values()) > 20, counts
