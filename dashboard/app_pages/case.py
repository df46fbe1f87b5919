"""Page: one return, with its readings and every version of it."""

from analytics.rollup.snapshot import Snapshot
from dashboard.page_parts import history_case, widgets
from dashboard.page_parts.history_asked import asked_for
from dashboard.place import place_in_use
from dashboard.queries.history import case

PAGE = "case"


def body(snapshot: Snapshot) -> None:
    """Show the answer to the question."""
    case_id = asked_for(PAGE, "case_id", snapshot, thing="return")
    if case_id:
        history_case.show_case(case(place_in_use(), case_id), snapshot)


widgets.show_page("What is known of this return?", body)
