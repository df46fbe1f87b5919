"""The way from a suspect on the bench to the earlier cases that are like it."""

from dashboard.page_parts.bench_address import MODE, case_words
from dashboard.page_parts.links import link_to
from dashboard.queries.answer import Row


def link_like(row: Row, label: str) -> None:
    """Show the count of like cases of a suspect as a link to them, where any are."""
    if row["n_like"]:
        link_to("like", label, {**case_words(), MODE: str(row["mode"])})
