"""A store that is filled, corrected, undone and forgotten in, beside a plain model.

The model knows what happens to a row and nothing of databases: after each step the
records as they stand, the rows that wait and the counts of the file are compared.
Taking a file back is the same as reading all others again, one after the other.
"""

import csv
import gzip
import hashlib
import io
import json
import os
import shutil
import tempfile
import zipfile
from pathlib import Path
from unittest.mock import patch

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule

from ingest import store
from ingest.pipeline import ingest_paths
from ingest.quarantine import rejected_rows
from ingest.readers import csv_blocks
from ingest.upkeep.forget import forget
from ingest.upkeep.undo import undo
from tests.store_model import CELLS, FIXED, SERIALS, Model, is_right, named, renamed

VERSIONS = """
SELECT batch, count(*) FROM (
    SELECT batch FROM unit_versions
    UNION ALL
    SELECT batch FROM shipment_versions
    UNION ALL
    SELECT batch FROM repair_versions
)
GROUP BY batch
"""
BATCHES = """
SELECT
    batch,
    n_read,
    n_accepted + n_replaced,
    n_accepted + n_unchanged + n_replaced + n_rejected,
    undone_at IS NULL
FROM batches
"""


def written(folder, number, form, table):
    """Write a table as a file, and return it with the digest that names its content."""
    if form == "jsonl":
        text = "".join(json.dumps(row) + "\n" for row in table)
    else:
        out = io.StringIO()
        writer = csv.DictWriter(out, list(table[0]))
        writer.writeheader()
        writer.writerows(table)
        text = out.getvalue()
    content = text.encode()
    file = folder / f"{number}.{form}"
    if form == "csv.gz":
        content = gzip.compress(content, mtime=0)
    if form == "zip":
        with zipfile.ZipFile(file, "w") as packed:
            packed.writestr("rows.csv", content)
    else:
        file.write_bytes(content)
    return file, hashlib.sha256(content).hexdigest()


def rows_of(kind):
    return st.fixed_dictionaries(
        {n: st.sampled_from(c) for n, c in CELLS[kind].items()}
    )


@st.composite
def tables(draw):
    kind = draw(st.sampled_from(sorted(CELLS)))
    return kind, draw(st.lists(rows_of(kind), min_size=1, max_size=9))


def corrected(kind, cells, way, name):
    """Return the cells of a row as a person sends them back."""
    if way == "right":
        return {n: FIXED.get(n, cell).format(name) for n, cell in cells.items()}
    wrong = {"units": {"serial": "?"}, "repairs": {"received_on": "soon"}}
    return cells | ({} if way == "as it was" else wrong.get(kind, {"quantity": "-1"}))


class Store(RuleBasedStateMachine):
    """Steps a workshop takes, in any order."""

    @initialize()
    def begin(self):
        self.folder = Path(tempfile.mkdtemp())
        self.path = self.folder / "store.duckdb"
        with store.open_for_writing(self.path):
            pass
        self.files = {}  # by batch
        self.tables = []
        self.n_written = 0
        self.small = (
            patch("ingest.taking_in.ROWS_PER_CHUNK", 3),
            patch.object(csv_blocks, "BIG", 128),
            patch.object(csv_blocks, "SIZES", (128, 32)),
            patch("ingest.bulk.columns.FEW", 1),
        )
        for each in self.small:
            each.start()

    def teardown(self):
        if hasattr(self, "small"):
            for each in self.small:
                each.stop()
            shutil.rmtree(self.folder)

    @rule(table=tables(), form=st.sampled_from(["csv", "jsonl", "csv.gz", "zip"]))
    def a_file(self, table, form):
        self.tables.append((table, form))
        self.take_in(*table, form)

    @precondition(lambda self: self.tables)
    @rule(data=st.data())
    def a_file_again(self, data):
        (kind, rows), form = data.draw(st.sampled_from(self.tables))
        self.take_in(kind, rows, form)

    @precondition(lambda self: Model(self.files.values()).waiting())
    @rule(data=st.data(), form=st.sampled_from(["csv", "jsonl"]))
    def a_correction(self, data, form):
        kind = data.draw(st.sampled_from(sorted({k for k, _ in self.waiting()})))
        rows, names = [], []
        for row in rejected_rows(self.path):
            if row.kind == kind:
                cells = {n: row.cells.get(n) or "" for n in CELLS[kind]}
                ways = ["right", "wrong", "as it was"]
                if is_right(kind, cells):
                    ways.pop()  # of a second row of a key nothing else tells
                way = data.draw(st.sampled_from(ways))
                new = f"{self.n_written}-{len(rows)}"
                rows.append(corrected(kind, cells, way, new))
                names.append(row.rejected_row)
        more = data.draw(st.lists(rows_of(kind), max_size=2))
        self.take_in(kind, rows + more, form, names + [""] * len(more))

    @precondition(lambda self: self.files)
    @rule(data=st.data())
    def taken_back(self, data):
        batch = data.draw(st.sampled_from(sorted(self.files)))
        undo(self.path, batch)
        del self.files[batch]
        self.compare()

    @rule(serial=st.sampled_from(SERIALS))
    def forgotten(self, serial):
        if any(
            serial in cells.values()
            for file in self.files.values()
            for cells, _ in file["rows"]
        ):
            new = forget(self.path, serial).pseudonym
            for file in self.files.values():
                file["rows"] = renamed(file["rows"], serial, new)
            self.compare()

    def waiting(self):
        rows = rejected_rows(self.path)
        return {
            named(row.kind, {n: row.cells.get(n) for n in CELLS[row.kind]})
            for row in rows
        }

    def take_in(self, kind, rows, form, names=None):
        model = Model(self.files.values())
        known = {
            row.rejected_row: named(kind, {n: row.cells.get(n) for n in CELLS[kind]})
            for row in rejected_rows(self.path)
        }
        names = names or [""] * len(rows)
        table = rows
        if any(names):
            table = [
                row | {"rejected_row": n} for row, n in zip(rows, names, strict=True)
            ]
        self.n_written += 1
        path, digest = written(self.folder, self.n_written, form, table)
        file = {
            "kind": kind,
            "digest": digest,
            "rows": [(row, known.get(n)) for row, n in zip(rows, names, strict=True)],
        }

        (dry,) = ingest_paths(self.path, [path], kind=kind, dry_run=True).files
        (report,) = ingest_paths(self.path, [path], kind=kind).files

        told = model.take_in(file)
        assert report.error is None
        assert report.read == len(rows)
        for verdict in ("accepted", "unchanged", "replaced", "rejected"):
            assert getattr(report, verdict) == told[verdict], verdict
            assert getattr(dry, verdict) == told[verdict], verdict
        assert dry.problems == report.problems
        unknown = report.problems.get("serial", {}).get("unknown_serial", 0)
        assert unknown == told["unknown"]
        same = [
            batch
            for batch, other in self.files.items()
            if (other["digest"], other["kind"]) == (digest, kind)
        ]
        if same and not told["changes"]:
            assert report.batch == min(same)
        else:
            assert report.batch not in self.files
            self.files[report.batch] = file
        self.compare()

    def compare(self):
        model = Model(self.files[batch] for batch in sorted(self.files))
        assert self.waiting() == model.waiting()
        with store.open_for_reading(self.path) as connection:
            for kind, columns in CELLS.items():
                texts = ", ".join(map(_as_text, columns))
                question = f"SELECT {texts} FROM {kind}"  # noqa: S608 - our own names
                found = connection.execute(question).fetchall()
                assert sorted(found) == model.stands(kind)
            batches = connection.execute(BATCHES).fetchall()
            kept = connection.execute(VERSIONS).fetchall()
        assert {batch for batch, *_, stands in batches if stands} == set(self.files)
        for batch, n_read, n_kept, n_judged, stands in batches:
            assert n_read == n_judged
            assert dict(kept).get(batch, 0) == (n_kept if stands else 0)


def _as_text(name):
    if name.endswith("month"):
        return f"coalesce(strftime({name}, '%Y-%m'), '')"
    return f"coalesce(CAST({name} AS VARCHAR), '')"


TestStore = Store.TestCase
TestStore.settings = settings(
    max_examples=int(os.environ.get("STORE_MODEL_EXAMPLES", "8")),
    stateful_step_count=12,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
