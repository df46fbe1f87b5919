"""What to do now on the bench: the card of the next check, and what waits."""

from collections.abc import Mapping, Sequence
from typing import cast

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboard import text
from dashboard.page_parts import bench_readings, widgets
from dashboard.queries.answer import Answer, Row
from ingest import catalogue

PROVED_DEAD = "proved_dead"
OUTCOMES = {"pass": "Passed at every point", "fail": "Failed", "not_done": "Not done"}


def show_now(page: str, answer: Answer) -> None:
    """Show the answer in a sentence, then the card of the next check."""
    if answer.more["powered"]:
        st.warning(str(answer.more["powered"]))
    widgets.tell_answer(_answer(answer))
    if not answer.more["after_repair"]:
        for hint in cast("Sequence[str]", answer.more["hints"]):
            st.info(hint)
    free = _free(answer)
    if not free:
        return
    check = free[0]
    with st.container(border=True):
        st.markdown(f"### {check['label']}")
        st.markdown("\n\n".join([*_lines(check), *_if_so(answer)]))
        _ask_result(page, check)


def show_further(page: str, answer: Answer) -> None:
    """Show the checks after the next one, with hazard and what each waits for."""
    first = _free(answer)[:1]
    labels = {code: check.label for code, check in catalogue.checks().items()}
    rows = [
        {
            "check": row["label"],
            "hazard": row["hazard_words"],
            "waits for": ", ".join(
                labels.get(code, code)
                for code in cast("Sequence[str]", row["blocked_by"])
            ),
            "minutes": f"{cast('float', row['minutes']):.0f}",
        }
        for row in _checks(answer)
        if row not in first
    ]
    if not rows:
        return
    st.header("Further checks")
    # Not the table that can be sorted: this one breaks lines, so that no hazard and
    # nothing a check waits for is cut off on a tablet.
    st.table(rows, border="horizontal", hide_index=True)
    shown = [str(row["check"]) for row in _checks(answer) if row not in first]
    st.selectbox(
        "What would it tell?",
        shown,
        index=None,
        format_func=lambda code: labels.get(code, code),
        key=bench_readings.what_if_key(page),
        placeholder="choose one of these checks",
    )
    what_if = cast("Row | None", answer.more["what_if"])
    if what_if and what_if["check"] in shown:
        st.markdown("\n\n".join(_told(what_if)))


def like(row: Row) -> str:
    """Return the count of like cases in words."""
    n = cast("int", row["n_like"])
    return f"{text.count(n)} like {'case' if n == 1 else 'cases'}"


def _checks(answer: Answer) -> Sequence[Row]:
    return cast("Sequence[Row]", answer.more["checks"])


def _free(answer: Answer) -> Sequence[Row]:
    return [row for row in _checks(answer) if not row["blocked_by"]]


def _answer(answer: Answer) -> str:
    free = _free(answer)
    first = (
        f"Next check: {free[0]['label']}." if free else "No check is left to do now."
    )
    repair = cast("Row | None", answer.more["after_repair"])
    if repair:
        return f"{repair['words']} {first if free else ''}".rstrip()
    if answer.more["too_little"]:
        return f"{answer.more['too_little']} {first}"
    likely = answer.rows[0]
    return (
        f"Most likely: {likely['label']} "
        f"({text.share(cast('float', likely['probability']), 1)}, "
        f"{like(likely)}). {first}"
    )


def _lines(check: Row) -> list[str]:
    missing = cast("Sequence[str]", check["missing_points"])
    # Findings that still wait stand with the gate, where they can be noted.
    points = [point for point in missing if point not in catalogue.codes("findings")]
    lines = [
        f"**Hazard: {_hazard(check)}.** {check['caution']}",
        f"**Measure:** {check['measures']}",
        f"**Probes:** {check['points']}",
        *(
            [f"**Still to measure on this unit:** {', '.join(points)}"]
            if points
            else []
        ),
        f"**Expected:** {check['window']}",
        f"**Takes:** about {cast('float', check['minutes']):.0f} minutes",
    ]
    if check["opens"]:
        lines.append(
            f"**Leads to:** {catalogue.checks()[str(check['opens'])].label}, which "
            "waits for it"
        )
    return lines


def _if_so(answer: Answer) -> list[str]:
    # After a repair a check is to pass: it no longer tells of the fault.
    if answer.more["after_repair"]:
        return []
    return _told(cast("Row", answer.more["first_check"]))


def _told(what_if: Row) -> list[str]:
    outcomes = cast("Sequence[Row]", what_if["outcomes"])
    words = {"fail": "If it fails", "pass": "If it passes"}
    return [f"**{words[str(row['outcome'])]}:** {row['words']}" for row in outcomes]


def _hazard(check: Row) -> str:
    # The class of this check is "proved dead", which is what it has yet to show.
    return (
        "may be live until this has passed"
        if check["check"] == PROVED_DEAD
        else str(check["hazard_words"])
    )


def _ask_result(page: str, check: Row) -> None:
    code, unit = str(check["check"]), str(check["unit"])
    if unit != "outcome":
        conditions: Mapping[str, str] = {
            word: row.label for word, row in catalogue.codes("conditions").items()
        }
        point, condition = st.columns(2)
        _ask_point(point, page, check)
        condition.selectbox(
            "In which state",
            list(conditions),
            index=None,
            format_func=lambda word: conditions.get(word, word),
            key=bench_readings.condition_key(page, code),
            placeholder="not said",
        )
        st.text_input(
            f"Value measured ({unit})",
            key=bench_readings.value_key(page, code),
            on_change=bench_readings.note_value,
            args=(page, code, unit),
            help="Enter notes it; OL or >999 where the meter is over its range",
        )
    with st.container(horizontal=True):
        for outcome, label in OUTCOMES.items():
            st.button(
                label,
                key=f"{page}_{outcome}_{code}",
                on_click=bench_readings.note_outcome,
                args=(page, code, outcome),
            )


def _ask_point(column: DeltaGenerator, page: str, check: Row) -> None:
    """Ask for the point of a value: those still missing first, or one typed."""
    missing = _single(cast("Sequence[str]", check["missing_points"]))
    needed = _single(cast("Sequence[str]", check["needed_points"]))
    measured = [point for point in needed if point not in missing]
    # None is chosen beforehand: a value must not be noted at a point by oversight.
    column.selectbox(
        "At which point",
        [*missing, *measured],
        index=None,
        format_func=lambda point: f"{point}, again" if point in measured else point,
        key=bench_readings.point_key(page, str(check["check"])),
        placeholder="choose or type" if needed else "type it",
        accept_new_options=True,
        help="First the point, then the value: each point is noted by itself",
    )


def _single(points: Sequence[str]) -> list[str]:
    # Either of the two will do: each can be chosen by itself.
    return [name for point in points for name in point.split(" or ")]
