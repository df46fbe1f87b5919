"""Every limit of the catalogue is tested at its edge, under the source it names."""

from ingest import catalogue
from tests.limit_edges import NO_SOURCE
from tests.published.test_limit_edges import EDGES as SOURCED
from tests.unit.test_limit_edges import EDGES as OF_THE_TRADE

MEASURED = {c.code: c for c in catalogue.checks().values() if c.unit != "outcome"}


def test_every_measured_check_has_a_reading_at_inside_and_outside_its_limit():
    assert {edge.check for edge in [*SOURCED, *OF_THE_TRADE]} == set(MEASURED)


def test_a_limit_without_a_source_is_never_shown_among_the_published_ones():
    without = {code for code, check in MEASURED.items() if check.source == NO_SOURCE}

    assert without.isdisjoint(edge.check for edge in SOURCED)
    assert without <= {edge.check for edge in OF_THE_TRADE}


def test_both_ends_of_a_fixed_window_are_tested():
    tested = {(edge.check, float(edge.at)) for edge in [*SOURCED, *OF_THE_TRADE]}

    for check in MEASURED.values():
        for end in (check.low, check.high):
            assert end is None or (check.code, end) in tested, (check.code, end)
