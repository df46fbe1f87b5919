"""How often checks failed, counted by publishing as the bench's own gate judges them.

An invented fleet; the statement in SQL and `gate.check_states` were written apart.
"""

from collections import Counter
from contextlib import closing

import duckdb
import pandas as pd
import pytest

from analytics.advice.gate import JudgedReading, check_states
from analytics.rollup.publish import publish
from analytics.rollup.snapshot import current_snapshot
from dashboard.queries.suggest import Intake, suggest
from dashboard.settings import Settings
from ingest.catalogue import checks
from ingest.pipeline import ingest_paths
from synthetic_data.fleet import write_fleet
from tests.counts_alone import counts_alone
from tests.small_fleet import case, published, unit

FACTS = ["connector", "phases", "supply_system"]


@pytest.fixture(scope="module")
def fleet(tmp_path_factory):
    """Return the snapshot, its file and the store of an invented fleet."""
    folder = tmp_path_factory.mktemp("counted")
    made = write_fleet(folder / "files", n_units=1500, seed=7)
    store = folder / "store.duckdb"
    ingest_paths(store, [made.units, made.repairs, made.readings], origin="invented")
    with counts_alone():
        publish(store, folder / "published")
    snapshot = current_snapshot(folder / "published")
    return snapshot, folder / "published" / f"{snapshot.about.snapshot}.duckdb", store


def rows_of(file, table):
    with closing(duckdb.connect(str(file), read_only=True)) as connection:
        return connection.execute(f"FROM {table}").df()


def judged(rows):
    rows = rows.sort_values(["taken_at", "sequence", "point"], kind="stable")
    return [
        JudgedReading(
            row.check,
            row.judged,
            row.stage,
            None if pd.isna(row.point) else row.point,
            None if pd.isna(row.condition) else row.condition,
            order=float(place),
            has_value=not pd.isna(row.value),
        )
        for place, row in enumerate(rows.itertuples())
    ]


def counted_of_case(readings, context):
    after = readings.loc[readings["stage"] == "after_repair", "taken_at"]
    if len(after):
        readings = readings[readings["taken_at"].dt.date <= after.min().date()]
    for check, own in readings.groupby("check"):
        stages = ["diagnosis"] if checks()[check].gate else []
        for stage in [*stages, "intake"]:
            of_stage = own[own["stage"] == stage]
            if len(of_stage):
                state = check_states(judged(of_stage), context)[check]
                yield check, state.outcome
                break


def test_what_is_counted_is_what_the_gate_says_of_each_case(fleet):
    snapshot, file, store = fleet
    labels = rows_of(file, "label_support")
    readings = dict(list(rows_of(file, "readings").groupby("case_id")))
    serials = rows_of(file, "cases").set_index("case_id")["serial"]
    units = rows_of(store, "units").set_index("serial")[FACTS]
    done, failed = Counter(), Counter()
    for row in labels[labels["support"] == "backed"].itertuples():
        if row.case_id not in readings:
            continue
        serial = serials[row.case_id]
        facts = units.loc[serial].dropna().to_dict() if serial in units.index else {}
        for check, outcome in counted_of_case(readings[row.case_id], facts):
            if outcome in ("pass", "fail"):
                done[check, row.mode] += 1
                failed[check, row.mode] += outcome == "fail"

    found = snapshot.ask("check_counts")

    assert len(found) > 50
    keys = list(zip(found["check"], found["mode"], strict=True))
    assert dict(zip(keys, found["n_done"], strict=True)) == done
    assert dict(zip(keys, found["n_failed"], strict=True)) == {
        key: failed[key] for key in keys
    }


def test_the_bench_says_what_its_chances_rest_on(fleet):
    snapshot, _, _ = fleet
    found = snapshot.ask("check_counts")

    answer = suggest(snapshot, Intake(), settings=Settings())

    said = str(answer.more["table_source"])
    n = int("".join(filter(str.isdigit, said)))
    assert 0 < n < found["n_done"].sum()


def test_without_an_outcome_on_record_common_practice_stands_alone(tmp_path):
    published(tmp_path, [unit("U-1")], [case("R1", "U-1")])
    snapshot = current_snapshot(tmp_path / "published")

    answer = suggest(snapshot, Intake(), settings=Settings())

    assert answer.more["table_source"] == (
        "Chances of a check to fail: common practice, no own outcome yet."
    )
