"""The way from a suspect on the bench to the earlier cases that are like it."""

from collections.abc import Mapping, Sequence

import streamlit as st

from dashboard.page_parts.bench_case import SINGLE
from dashboard.page_parts.links import link_to
from dashboard.queries.answer import Row
from dashboard.queries.intake import AT_THE_BENCH, Intake

MODE = "mode"


def case_words() -> Mapping[str, Sequence[str]]:
    """Return the words of the address that tell of the return, nothing of readings."""
    return {
        name: st.query_params.get_all(name)
        for name in st.query_params
        if name not in (MODE, *AT_THE_BENCH)
    }


def intake_of_case() -> Intake:
    """Return the intake that the address holds, without the mode asked about.

    Raises
    ------
    UsageError
        The address holds a word or a code that is not known.
    """
    return Intake.of(
        {
            name: values[-1] if name in SINGLE else values
            for name, values in case_words().items()
        }
    )


def link_like(row: Row, label: str) -> None:
    """Show the count of like cases of a suspect as a link to them, where any are."""
    if row["n_like"]:
        link_to("like", label, {**case_words(), MODE: str(row["mode"])})
