"""Backed labels are truer than contradicted ones, where the truth is known.

An invented fleet with a quarter of its confirmed modes exchanged for those of other
cases: its readings were drawn from the true modes and know nothing of the exchange.
Seeds are fixed: the test passes or fails for good.
"""

import csv
import shutil
from contextlib import closing

import numpy as np
import openpyxl
import pandas as pd
import pytest

from analytics.rollup.publish import publish
from analytics.rollup.snapshot import current_snapshot
from dashboard.filters import Filters
from ingest.pipeline import ingest_paths
from synthetic_data.fleet import write_fleet

SHARE_EXCHANGED = 0.25


def repairs_of(file):
    with closing(openpyxl.load_workbook(file, read_only=True)) as book:
        header, *rows = list(book["repairs"].iter_rows(values_only=True))
    found = [dict(zip(header, row, strict=True)) for row in rows]
    return [row for row in found if str(row["case_id"]) < "W-8"]


@pytest.fixture(scope="module")
def labels(tmp_path_factory):
    """Return the confirmed cases with their support, and whether the label is true."""
    folder = tmp_path_factory.mktemp("labels")
    made = write_fleet(folder / "files", n_units=4000, seed=21)
    repairs = repairs_of(made.repairs)
    confirmed = [row for row in repairs if row["confirmed_mode"]]
    truth = {row["case_id"]: row["confirmed_mode"] for row in confirmed}
    rng = np.random.default_rng(21)
    given = rng.permutation(list(truth.values()))
    for row, other in zip(confirmed, given, strict=True):
        if rng.random() < SHARE_EXCHANGED:
            row["confirmed_mode"] = str(other)
    file = folder / "repairs.csv"
    with file.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, list(repairs[0]))
        writer.writeheader()
        for row in repairs:
            days = {k: v.date() for k, v in row.items() if hasattr(v, "date")}
            writer.writerow(row | days)
    store = folder / "store.duckdb"
    ingest_paths(store, [made.units, file, made.readings], origin="invented")
    publish(store, folder / "published")
    found = current_snapshot(folder / "published").ask(
        "label_support", Filters().parameters(), chosen="chosen_cases"
    )
    found["is_true"] = found["mode"] == found["case_id"].map(truth)
    shutil.rmtree(folder / "files")
    return found


def share_true(labels: pd.DataFrame, support: str) -> float:
    return float(labels.loc[labels["support"] == support, "is_true"].mean())


def test_there_are_enough_of_each(labels):
    counts = labels["support"].value_counts()

    assert counts["backed"] > 200
    assert counts["contradicted"] > 30
    assert 0.7 < labels["is_true"].mean() < 0.85


def test_backed_labels_are_true_and_contradicted_ones_are_not(labels):
    # Where a wrong label shares its confirming check with the true mode it is backed
    # too (inspection, boot): a few per cent, so that the bound is not 1.
    assert share_true(labels, "backed") > 0.95
    assert share_true(labels, "contradicted") < 0.05


def test_unbacked_labels_lie_between(labels):
    unbacked = share_true(labels, "unbacked")

    assert share_true(labels, "contradicted") < unbacked < share_true(labels, "backed")


def test_true_labels_are_not_contradicted(labels):
    true = labels[labels["is_true"]]

    assert (true["support"] == "contradicted").mean() < 0.01
