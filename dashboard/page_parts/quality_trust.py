"""Data quality, the trust: what needs a look, spellings, what the data make one ask."""

from collections.abc import Mapping, Sequence
from typing import cast

import streamlit as st

from dashboard import text
from dashboard.page_parts import widgets
from dashboard.queries.answer import Answer, Row
from dashboard.queries.quality import part
from dashboard.queries.quality_doubts import LATER_FAILURES, MAINLY_RETURNED

PAGE = "quality"


def tell_attention(answer: Answer) -> None:
    """Write what a person should look at, a line for each; nothing if there is none."""
    asked = cast("Sequence[str]", answer.more["asked"])
    if asked:
        st.warning("\n".join(f"- {sentence}" for sentence in asked))


def show_spelling(answer: Answer) -> None:
    """Show what may be one thing spelled in several ways, and the lines to map it."""
    st.header("One thing spelled in several ways?")
    spelled = cast("Sequence[Row]", answer.more["spelling"])
    if not spelled:
        st.markdown(
            "No lots, cable suppliers, models or sites were found that look like "
            "spellings of one another."
        )
        return
    st.markdown(
        "Nothing is merged by guess: each spelling counts as a value of its own until "
        "a mapping file says otherwise. Where these are one thing, copy the lines into "
        "your mapping file, leave out those that are not, and take the files in again "
        "with `mendfleet ingest --mapping FILE`."
    )
    table = part(answer, "spelling")
    widgets.show_table(
        table.rows,
        {
            "field": "field",
            "value": "spelling",
            "n_units": "units",
            "proposed": "commonest of its group",
        },
        key=f"{PAGE}_spelling",
        what="Values that may be spellings of one thing, with units and the commonest",
    )
    _offer(answer, "spelling")
    lines = "\n\n".join(str(row["mapping_lines"]) for row in spelled)
    st.code(lines, language="toml")


def show_questions(answer: Answer) -> None:
    """Show what the data make one ask about the register and the term."""
    st.header("What the data make one ask")
    st.markdown(f"- {_register(answer)}")
    st.markdown(f"- {_term_end(answer)}")


def _register(answer: Answer) -> str:
    found = cast("Mapping[str, int]", answer.more["register"])
    n_units, n_returned = found["n_units"], found["n_returned"]
    share = f" ({text.share(n_returned / n_units, n_units)})" if n_units else ""
    returned = f"{text.count(n_returned)} have a case{share}"
    parts = [f"Of {text.count(n_units)} units of the register {returned}"]
    if found["n_dated_returned"]:
        parts.append(
            f"of {text.count(found['n_dated_returned'])} returned units with a day of "
            f"registration {text.count(found['n_registered_by_return'])} were "
            "registered on or after the day of their first failure"
        )
    parts.append(
        f"{text.count(found['n_no_dates'])} have neither a day of shipping nor of "
        "going into service and tell nothing about time to failure"
    )
    verdict = (
        MAINLY_RETURNED
        if found["is_mainly_returned"]
        else "Over 80 % would mean a register of mainly returned units."
    )
    return f"{'; '.join(parts)}. {verdict}"


def _term_end(answer: Answer) -> str:
    found = cast("Mapping[str, int]", answer.more["term_end"])
    state = str(found["state"])
    if state == "assumed":
        return (
            "The settings say that failures after the end of the warranty never reach "
            "you; units are followed to the end of their term."
        )
    if state == "no_units":
        return (
            "Whether failures after the end of the warranty are reported cannot be "
            "seen: no unit with a known term was followed past it."
        )
    counted = (
        f"Failures in the 90 days after the end of the warranty: "
        f"{text.count(found['n_after'])}, in the 90 days before: "
        f"{text.count(found['n_before'])}, of {text.count(found['n_units'])} units "
        "followed past it"
    )
    ratio = (
        f"rate after to rate before {text.estimate(found['ratio'])}, "
        f"95 % interval {_limits(found['low'], found['high'])}"
    )
    verdict = {
        "asked": LATER_FAILURES,
        "no_reason": "No reason to ask whether later failures are reported to you.",
        "not_shown": "The data do not show whether later failures are reported to you.",
    }[state]
    return f"{counted}; {ratio}. {verdict}"


def _limits(low: float | None, high: float | None) -> str:
    if high is None:
        return f"from {text.estimate(low)} on"
    return text.interval(low, high)


def _offer(answer: Answer, name: str) -> None:
    table = part(answer, name)
    widgets.offer_files(
        PAGE, table, words=table.filters.stated(), table=f"{PAGE}-{name}"
    )
