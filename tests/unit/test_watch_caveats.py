"""What a reader of the watch is told about the records: spellings of one thing."""

import pytest

from dashboard.queries.watch_caveats import caveats

ABOUT = {
    "why_not": None,
    "n_of_largest_site": None,
    "n_failures": 100,
    "n_groups": 50,
    "completeness": 1.0,
    "last_month": "2026-01-01",
    "is_joint": True,
}
FAMILY = {"family": "lot", "n_groups": 9, "share_not_recorded": 0.0}


@pytest.mark.parametrize(
    ("n_lots", "also"), [(1, "several ways. "), (3, "several ways, and so may 2 more.")]
)
def test_how_many_lots_may_be_spelled_in_several_ways_is_said(n_lots, also):
    groups = [{"values": {f"L{n}": 4, f"l{n}": 3}} for n in range(1, n_lots + 1)]

    said = caveats(ABOUT, [FAMILY], [{"field": "production_lot", "groups": groups}])

    assert said[0].startswith(f"Lot: L1 and l1 may be one thing spelled in {also}")
