"""Page: one unit, with its returns and the state of its warranty."""

from analytics.rollup.snapshot import Snapshot
from dashboard.page_parts import history_unit, widgets
from dashboard.page_parts.history_asked import asked_for
from dashboard.place import place_in_use
from dashboard.queries.history import unit

PAGE = "unit"


def body(snapshot: Snapshot) -> None:
    """Show the answer to the question."""
    serial = asked_for(PAGE, "serial", snapshot, thing="unit")
    if serial:
        history_unit.show_unit(unit(place_in_use(), serial), snapshot)


widgets.show_page("What is known of this unit?", body)
