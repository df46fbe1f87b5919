"""What the address of a page tells of the return on the bench, nothing of readings."""

from collections.abc import Mapping, Sequence

import streamlit as st

from dashboard.queries.intake import AT_THE_BENCH, Intake

MODE = "mode"
SINGLE = (
    *("serial", "text", "model", "environment", "connector", "age_days"),
    *("opened_before_arrival", "current_setting_a"),
)
NEVER_IN_IT = (*AT_THE_BENCH, "what_if")


def case_words() -> Mapping[str, Sequence[str]]:
    """Return the words of the address that tell of the return."""
    return {
        name: st.query_params.get_all(name)
        for name in st.query_params
        if name not in (MODE, *NEVER_IN_IT)
    }


def intake_of_address() -> Intake:
    """Return the intake that the address holds; readings in it are taken out.

    Raises
    ------
    UsageError
        The address holds a word or a code that is not known.
    """
    for name in NEVER_IN_IT:
        st.query_params.pop(name, None)
    return Intake.of(
        {
            name: values[-1] if name in SINGLE else values
            for name, values in case_words().items()
        }
    )
