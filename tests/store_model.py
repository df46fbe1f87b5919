"""A plain model of the store: what happens to a row, and nothing of databases."""

from collections import Counter

SERIALS = [f"U-{n}" for n in range(1, 5)]
# Few values, so that files repeat, replace and contradict each other and themselves.
CELLS = {
    "units": {
        "serial": [*SERIALS, "?"],
        "model": ["A", "B", ""],
        "phases": ["", "1", "3", "2"],
    },
    "shipments": {
        "model": ["A"],
        "production_lot": ["", "L1"],
        "shipped_month": ["2026-01", "soon"],
        "region": ["", "north"],
        "quantity": ["1", "2", "-1"],
    },
    "repairs": {
        "case_id": ["R1", "R2", "R3"],
        "serial": [*SERIALS, "?"],
        "received_on": ["2026-01-02", "2026-01-03", "soon"],
    },
}
WRONG = {"?", "soon", "-1", "2026-13"}
KEYS = {
    "units": ("serial",),
    "shipments": ("model", "production_lot", "shipped_month", "region"),
    "repairs": ("case_id",),
}
FIXED = {"serial": "C-{}", "model": "C", "phases": "3", "case_id": "C-{}"} | {
    "shipped_month": "2026-02", "quantity": "3", "received_on": "2026-02-02",
}  # fmt: skip


def is_right(kind, cells):
    """Say whether the model of the kind takes the cells, all of them from above."""
    if kind == "units" and (not cells["model"] or cells["phases"] == "2"):
        return False
    return not WRONG & set(cells.values())


def named(kind, cells):
    """Return what names a row set aside."""
    return kind, frozenset((n, c) for n, c in cells.items() if c)


class Model:
    """What is stored, as said in words: every version by key, and the rows waiting."""

    def __init__(self, files):
        self.versions = []  # kind, key, cells; oldest first
        self.rejected = {}  # name: waits
        for file in files:
            self.take_in(file)

    def stands(self, kind):
        found = {key: cells for k, key, cells in self.versions if k == kind}
        return sorted(tuple(map(cells.get, CELLS[kind])) for cells in found.values())

    def waiting(self):
        return {name for name, waits in self.rejected.items() if waits}

    def take_in(self, file):
        """Return how the rows of a file fared, and how much changed."""
        kind, before = file["kind"], list(self.versions)
        first, names, corrected, wrong_again = {}, set(), set(), {}
        told = Counter()
        for cells, corrects in file["rows"]:
            key = tuple(cells[name] for name in KEYS[kind])
            verdict = self._verdict(kind, key, cells, before, first)
            told[verdict] += 1
            if verdict == "rejected":
                name = named(kind, cells)
                names.add(name)
                told["changes"] += name not in self.rejected
                self.rejected.setdefault(name, True)
                wrong_again[corrects] = name
                continue
            told["changes"] += verdict != "unchanged"
            # A row that waited and is right now needs no name to be known again.
            corrected.add(corrects or named(kind, cells))
            units = {k[0] for of, k, _ in self.versions if of == "units"}
            told["unknown"] += kind == "repairs" and cells["serial"] not in units
        corrected |= {old for old, new in wrong_again.items() if self.rejected[new]}
        for name in corrected - names:
            told["changes"] += self.rejected.get(name, False)
            if name in self.rejected:
                self.rejected[name] = False
        return told

    def _verdict(self, kind, key, cells, before, first):
        if not is_right(kind, cells):
            return "rejected"
        is_first = key not in first
        first.setdefault(key, cells)
        if (kind, key, cells) in before:
            return "unchanged"
        if is_first:
            self.versions.append((kind, key, cells))
            was = any(version[:2] == (kind, key) for version in before)
            return "replaced" if was else "accepted"
        return "unchanged" if first[key] == cells else "rejected"


def renamed(thing, old, new):
    """Return cells, names or rows with another name in the place of one."""
    if isinstance(thing, str):
        return new if thing == old else thing
    if isinstance(thing, dict):
        return {name: renamed(cell, old, new) for name, cell in thing.items()}
    if isinstance(thing, tuple | list | frozenset):
        return type(thing)(renamed(part, old, new) for part in thing)
    return thing
