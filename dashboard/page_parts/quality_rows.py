"""Data quality, the rows: files, problems with examples, what is set aside or waits."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import cast

import streamlit as st

from dashboard import text
from dashboard.drawing import charts
from dashboard.filters import Filters
from dashboard.page_parts import widgets
from dashboard.page_parts.ink import show_chart
from dashboard.place import place_in_use
from dashboard.queries.answer import Answer, Row
from dashboard.queries.quality import part
from dashboard.queries.rejected import correction_file, rejected
from ingest.errors import UserError

PAGE = "quality"
TO_THE_MINUTE = 16  # characters of a moment


def tell_answer(answer: Answer) -> None:
    """Write how many rows were read, and how many of them are set aside."""
    total = cast("Mapping[str, int]", answer.more["total"])
    n_read, n_files = total["n_read"], total["n_files"]
    files = f"{text.count(n_files)} {'file' if n_files == 1 else 'files'}"
    share = (
        f" ({text.share(total['share_rejected'], n_read)}, 95 % interval "
        f"{text.share_interval(total['low'], total['high'], n_read)})"
        if n_read
        else ""
    )
    n_aside = total["n_rejected"]
    aside = f"{text.count(n_aside)} {'was' if n_aside == 1 else 'were'} set aside"
    widgets.tell_answer(
        f"Of {text.count(n_read)} rows read from {files}, {aside}{share}; every other "
        "row is kept."
    )


def show_problems(answer: Answer) -> None:
    """Show why rows were set aside: how often, with examples, and what to do."""
    problems = [row for row in _rows(answer, "problems") if not row["is_notice"]]
    if not problems:
        return
    _show_reasons(problems)
    widgets.show_table(
        problems,
        {
            "kind": "kind",
            "field": "field",
            "code": "reason",
            "n_rows": "rows",
            "n_files": "files",
            "what_to_do": st.column_config.TextColumn("what to do", width="large"),
        },
        key=f"{PAGE}_problems",
        what="Rows set aside by kind, field and reason, with what to do",
    )
    _offer(part(answer, "problems"), "problems")
    _show_examples(part(answer, "examples"))


def _show_examples(examples: Answer) -> None:
    st.header("Examples of rows set aside")
    st.caption(
        "Up to three for each kind, field and reason, the newest file first. A cell "
        "shown empty was empty, or its column has another name in the file."
    )
    widgets.show_table(
        [
            row
            | {"cell": row["cell"] or ""}
            | {"is_corrected": "yes" if row["is_corrected"] else "no"}
            for row in examples.rows
        ],
        {
            "kind": "kind",
            "field": "field",
            "code": "reason",
            "row_no": "row",
            "cell": "cell",
            "message": st.column_config.TextColumn("why", width="large"),
            "file": "file",
            "is_corrected": "corrected since",
        },
        key=f"{PAGE}_examples",
        what="Examples of rows set aside, with file, row number, cell and reason",
    )
    _offer(examples, "examples")


def _show_reasons(problems: Sequence[Row]) -> None:
    counts: dict[str, int] = {}
    for row in problems:
        name = text.words(str(row["code"]))
        counts[name] = counts.get(name, 0) + cast("int", row["n_rows"])
    order = sorted(counts, key=lambda name: (-counts[name], name))
    rows: list[Row] = [{"name": name, "n_rows": counts[name]} for name in order]
    n_shown = min(len(rows), charts.SHOWN_BARS)
    most = f", the {n_shown} commonest of {len(rows)}" if len(rows) > n_shown else ""
    st.header(f"Rows set aside, by reason{most}")
    show_chart(
        charts.counts_chart(rows, name="name", count="n_rows", axis="rows"),
        key=f"{PAGE}_chart",
        seen="Bars: rows set aside for each reason; the table below holds the numbers",
    )
    st.caption("A row set aside counts once for each field and reason it has.")


def show_files(answer: Answer) -> None:
    """Show what happened to the rows of each file."""
    st.header("Files")
    rows = [
        row
        | {"started_at": _minute(row["started_at"])}
        | {name: _percent(row[name]) for name in ("share_rejected", "low", "high")}
        for row in _rows(answer, "files")
    ]
    widgets.show_table(
        rows,
        {
            "batch": "batch",
            "file": "file",
            "kind": "kind",
            "n_read": "read",
            "n_accepted": "accepted",
            "n_unchanged": "unchanged",
            "n_replaced": "replaced",
            "n_rejected": "set aside",
            "share_rejected": widgets.percent("set aside (%)"),
            "low": widgets.percent("95 % from (%)"),
            "high": widgets.percent("to (%)"),
            "started_at": "taken in",
        },
        key=f"{PAGE}_files",
        what="Files taken in, with the rows accepted, unchanged, replaced, set aside",
    )
    _offer(part(answer, "files"), "files")
    if answer.rows:
        st.markdown("**Problems and notices, file by file**")
        widgets.show_table(
            [
                row | {"is_notice": "kept" if row["is_notice"] else "set aside"}
                for row in answer.rows
            ],
            {
                "batch": "batch",
                "kind": "kind",
                "field": "field",
                "code": "reason or notice",
                "n_rows": "rows",
                "is_notice": "the row is",
                "what_to_do": st.column_config.TextColumn("what to do", width="large"),
                "file": "file",
            },
            key=f"{PAGE}_table",
            what="Rows of each file by field and reason or notice",
        )
    # A row of a file belongs to no group: its filters are none, whatever is chosen.
    widgets.offer_files(
        PAGE, replace(answer, filters=Filters()), words=answer.filters.stated()
    )


def show_set_aside() -> None:
    """Show the rows to correct, and offer them as a file."""
    # Read from the store itself: what is corrected leaves the list at once.
    st.header("Rows set aside and not yet corrected")
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
    widgets.offer_files(PAGE, found, words={}, table="rejected")


def show_waiting(answer: Answer) -> None:
    """Show which rows are kept though something about them is not known yet."""
    st.header("Kept, with a notice")
    notices = [row for row in _rows(answer, "problems") if row["is_notice"]]
    unread = {str(row["field"]) for row in notices if row["code"] == "unknown_column"}
    n_masked = sum(
        cast("int", row["n_rows"])
        for row in notices
        if row["code"] == "personal_data_masked"
    )
    waiting = _rows(answer, "waiting")
    if unread:
        columns = widgets.as_typed(", ".join(sorted(unread)))
        st.markdown(f"Columns that are not known and were not read: {columns}")
    if n_masked:
        st.markdown(f"Rows in which personal data were masked: {text.count(n_masked)}.")
    if waiting:
        st.markdown(
            "Rows kept that name a unit or case not known yet: "
            f"{text.count(sum(cast('int', row['n_rows']) for row in waiting))}. They "
            "are picked up when it arrives."
        )
        widgets.show_table(
            waiting,
            {
                "kind": "kind",
                "waits_for": "waits for a",
                "n_rows": "rows",
                "n_names": "units or cases waited for",
                "names": "the first of them",
            },
            key=f"{PAGE}_waiting",
            what="Rows kept that wait for a unit or case, by kind",
        )
        _offer(part(answer, "waiting"), "waiting")
    if not (unread or n_masked or waiting):
        st.markdown("None.")


def show_left_out(left_out: Mapping[str, int], n_unknown: int, units: Answer) -> None:
    """Show which units tell nothing about time to failure, and why."""
    st.header("Left out of times to failure")
    unknown = {"unknown_serial": n_unknown} if n_unknown else {}
    phrases = widgets.left_out_words({**left_out, **unknown})
    st.markdown("\n".join(f"- {phrase}" for phrase in phrases) or "None.")
    if units.rows:
        shown = [row | {"reason": text.words(str(row["reason"]))} for row in units.rows]
        widgets.show_table(
            shown,
            {"serial": "serial", "reason": "why"},
            key=f"{PAGE}_left_out",
            what="Units left out of times to failure, each with the reason",
        )
        _offer(units, "left-out")


def _offer(answer: Answer, name: str) -> None:
    widgets.offer_files(
        PAGE, answer, words=answer.filters.stated(), table=f"{PAGE}-{name}"
    )


def _rows(answer: Answer, name: str) -> Sequence[Row]:
    return cast("Sequence[Row]", answer.more[name])


def _percent(value: object) -> float | None:
    return None if value is None else 100 * cast("float", value)


def _minute(moment: object) -> str:
    return f"{str(moment)[:TO_THE_MINUTE].replace('T', ' ')} UTC"
