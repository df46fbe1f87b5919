"""Page: whether the data can be trusted."""

from collections.abc import Mapping, Sequence
from typing import cast

import streamlit as st

from analytics.rollup.snapshot import About, Snapshot
from dashboard import charts, text, widgets
from dashboard.filters import Filters
from dashboard.place import place_in_use
from dashboard.queries.answer import Answer, Row
from dashboard.queries.quality import quality
from dashboard.queries.rejected import correction_file, rejected
from ingest.errors import UserError

PAGE = "quality"
WAITING = {"unknown_serial", "unknown_case"}
NOTICES = {"unknown_column", *WAITING}  # the row is kept
TO_THE_MINUTE = 16  # characters of a moment


@st.cache_data(max_entries=widgets.REMEMBERED, show_spinner="Counting rows")
def ask(snapshot: str, _snapshot: Snapshot) -> Answer:
    """Return the answer, once for each snapshot."""
    del snapshot  # it is the key
    return quality(_snapshot, Filters())


def body(snapshot: Snapshot) -> None:
    """Show the answer to the question."""
    widgets.tell_basis(snapshot.about)
    answer = ask(snapshot.about.snapshot, snapshot)
    files = cast("Sequence[Row]", answer.more["files"])
    if not files:
        st.info("These figures rest on no file.")
        return
    widgets.tell_answer(_answer(files))
    problems = [row for row in answer.rows if row["code"] not in NOTICES]
    if problems:
        _show_problems(problems)
    _tell_notices(answer.rows)
    _show_files(files)
    widgets.offer_files(PAGE, answer, words={})
    _show_set_aside()
    _show_left_out(answer)
    st.subheader("How late reports come in")
    st.markdown(_lateness(snapshot.about))
    widgets.tell_left_out([answer.method])


def _tell_notices(rows: Sequence[Row]) -> None:
    unread = {str(row["field"]) for row in rows if row["code"] == "unknown_column"}
    if unread:
        columns = widgets.as_typed(", ".join(sorted(unread)))
        st.markdown(f"Columns that are not known and were not read: {columns}")
    n = sum(cast("int", row["n_rows"]) for row in rows if row["code"] in WAITING)
    if n:
        st.markdown(
            f"Rows kept that name a unit or case not known yet: {text.count(n)}. They "
            "are picked up when it arrives."
        )


def _answer(files: Sequence[Row]) -> str:
    n_read, n_aside = (
        sum(cast("int", row[name]) for row in files)
        for name in ("n_read", "n_rejected")
    )
    part = 100 * n_aside / n_read if n_read else 0
    n_files = f"{text.count(len(files))} {'file' if len(files) == 1 else 'files'}"
    return (
        f"Of {text.count(n_read)} rows read from {n_files}, {text.count(n_aside)} were "
        f"set aside ({part:.1f} %); every other row is kept. This is a full count: it "
        "has no interval."
    )


def _show_problems(problems: Sequence[Row]) -> None:
    counts: dict[str, int] = {}
    for row in problems:
        name = text.words(str(row["code"]))
        counts[name] = counts.get(name, 0) + cast("int", row["n_rows"])
    order = sorted(counts, key=lambda name: (-counts[name], name))
    rows: list[Row] = [{"name": name, "n_rows": counts[name]} for name in order]
    n_shown = min(len(rows), charts.SHOWN_BARS)
    most = f", the {n_shown} commonest of {len(rows)}" if len(rows) > n_shown else ""
    st.subheader(f"Rows set aside, by reason{most}")
    st.altair_chart(
        charts.counts_chart(rows, name="name", count="n_rows", axis="rows"),
        key=f"{PAGE}_chart",
        alt="Bars: rows set aside for each reason; the table below holds the numbers",
    )
    st.caption("A row set aside counts once for each field and reason it has.")
    widgets.show_table(
        problems,
        {
            "file": "file",
            "kind": "kind",
            "field": "field",
            "code": "reason",
            "n_rows": "rows",
        },
        key=f"{PAGE}_problems",
        what="Rows set aside by file, field and reason",
    )


def _show_files(files: Sequence[Row]) -> None:
    st.subheader("Files")
    widgets.show_table(
        [row | {"started_at": _minute(row["started_at"])} for row in files],
        {
            "file": "file",
            "kind": "kind",
            "started_at": "taken in",
            "n_read": "read",
            "n_accepted": "accepted",
            "n_unchanged": "unchanged",
            "n_replaced": "replaced",
            "n_rejected": "set aside",
        },
        key=f"{PAGE}_files",
        what="Files taken in, with the rows accepted, unchanged, replaced, set aside",
    )


def _minute(moment: object) -> str:
    return f"{str(moment)[:TO_THE_MINUTE].replace('T', ' ')} UTC"


def _show_set_aside() -> None:
    # Read from the store itself: what is corrected leaves the list at once.
    st.subheader("Rows set aside and not yet corrected")
    place = place_in_use()
    try:
        found = rejected(place)
        file = correction_file(place) if found.rows else None
    except UserError as error:
        st.info(f"{widgets.as_typed(error.message)} {error.hint}")
        return
    if file is None:
        st.markdown("None.")
        return
    name, content = file
    inside = "Unpack it; correct" if name.endswith(".zip") else "Correct"
    st.markdown(
        f"The file holds these rows in their own columns. {inside} them there and take "
        "them in again with `mendfleet ingest`; what is right then leaves this list."
    )
    st.download_button(
        "Rows to correct",
        data=content,
        file_name=name,
        on_click="ignore",
        key=f"{PAGE}_rows_to_correct",
    )
    widgets.show_table(
        found.rows,
        {
            "kind": "kind",
            "file": "file",
            "row_no": "row",
            "problems": "field and problem",
            "messages": "why",
        },
        key=f"{PAGE}_set_aside",
        what="Rows set aside with file, row number and reasons",
    )


def _show_left_out(answer: Answer) -> None:
    left_out = cast("Mapping[str, int]", answer.more["left_out"])
    n_unknown = cast("int", answer.more["n_unknown_serial"])
    st.subheader("Left out of times to failure")
    unknown = {"unknown_serial": n_unknown} if n_unknown else {}
    phrases = widgets.left_out_words({**left_out, **unknown})
    st.markdown("\n".join(f"- {phrase}" for phrase in phrases) or "None.")


def _lateness(about: About) -> str:
    end = f"Failures count up to {about.observation_end}"
    if about.delay_source == "estimated":
        return (
            f"{end}: 95 % of failures are confirmed within "
            f"{text.count(about.delay_days)} days, estimated from "
            f"{text.count(about.n_delays)} delays on record."
        )
    return (
        f"{end}: {text.count(about.delay_days)} days are assumed (settings), as there "
        f"are only {text.count(about.n_delays)} delays on record."
    )


widgets.show_page("Can the data be trusted?", body)
