"""Page: the bench. What is it likely to be, and what to check first."""

import re
from collections.abc import Mapping, Sequence
from typing import cast

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.drawing import charts
from dashboard.page_parts import bench_readings, reach, widgets
from dashboard.page_parts.bench_case import answer_symptom, intake_of_address, show_case
from dashboard.page_parts.ink import show_chart
from dashboard.place import place_in_use
from dashboard.queries.answer import Answer, Row
from dashboard.queries.suggest import Intake, suggest
from ingest import catalogue
from ingest.errors import UsageError

PAGE = "suggest"
PROVED_DEAD = "proved_dead"
POWERED = (
    "The unit was powered for a check noted below: isolate it and prove it dead again "
    "before anything is touched."
)
OUTCOMES = {"pass": "Passed at every point", "fail": "Failed", "not_done": "Not done"}
SHOWN = {"pass": "passed", "fail": "failed", "not_done": "not done"}


def body(snapshot: Snapshot) -> None:
    """Show the case on the left, and what to do now on the right."""
    reach.make_room_for_gloves()
    widgets.tell_basis(snapshot.about)
    st.warning(text.CAUTION)
    intake = intake_of_address()
    noted = bench_readings.noted_readings(PAGE)
    case, now = st.columns([5, 6], gap="large")
    with case:
        st.header("The case")
        show_case(PAGE, snapshot, intake)
    with now:
        st.header("Now")
        answer = _ask(snapshot, intake, noted)
        told = bench_readings.tell_once(PAGE)
        if told:
            st.info(widgets.as_typed(told))
        _show_now(answer)
        _show_noted(answer)
        _show_suspects(answer)
        _show_to_ask(answer)
        _show_further(answer)
    words = intake.model_dump(exclude_defaults=True)
    widgets.offer_files(PAGE, answer, words=words)
    if noted:
        st.caption("The address holds the case alone, not the checks noted here.")
    _tell_left_out(answer)


def _ask(snapshot: Snapshot, intake: Intake, noted: Sequence[str]) -> Answer:
    # Never remembered: an answer to readings belongs to the unit on screen.
    settings = place_in_use().settings()
    if not noted:
        return suggest(snapshot, intake, settings=settings)
    asked = Intake.of(intake.model_dump() | {"reading": noted})
    try:
        return suggest(snapshot, asked, settings=settings)
    except UsageError as error:
        # The newest is the wrong one: those before it were answered already.
        bench_readings.take_back(PAGE)
        st.error(widgets.as_typed(f"{error.message} It was not noted."))
        return _ask(snapshot, intake, noted[:-1])


def _checks(answer: Answer) -> Sequence[Row]:
    return cast("Sequence[Row]", answer.more["checks"])


def _free(answer: Answer) -> Sequence[Row]:
    return [row for row in _checks(answer) if not row["blocked_by"]]


def _show_now(answer: Answer) -> None:
    if answer.more["energised"]:
        st.warning(POWERED)
    widgets.tell_answer(_answer(answer))
    free = _free(answer)
    if not free:
        return
    check = free[0]
    with st.container(border=True):
        st.markdown(f"### {check['label']}")
        st.markdown(
            f"**Hazard: {_hazard(check)}.** {check['caution']}\n\n"
            f"**Measure:** {check['measures']}\n\n"
            f"**Probes:** {check['points']}\n\n"
            f"**Expected:** {check['window']}\n\n"
            f"**Takes:** about {cast('float', check['minutes']):.0f} minutes"
        )
        _ask_result(check)


def _hazard(check: Row) -> str:
    # The class of this check is "proved dead", which is what it has yet to show.
    return (
        "may be live until this has passed"
        if check["check"] == PROVED_DEAD
        else str(check["hazard_words"])
    )


def _answer(answer: Answer) -> str:
    free = _free(answer)
    first = (
        f"Next check: {free[0]['label']}." if free else "No check is left to do now."
    )
    if not answer.more["enough_evidence"]:
        return f"Too little is known to name a likely fault. {first}"
    likely = answer.rows[0]
    return (
        f"Most likely: {likely['label']} "
        f"({100 * cast('float', likely['probability']):.0f} %, "
        f"{_like(likely)}). {first}"
    )


def _like(row: Row) -> str:
    n = cast("int", row["n_like"])
    return f"{text.count(n)} like {'case' if n == 1 else 'cases'}"


def _spoken(reason: str) -> str:
    """Return a reason with labels in place of codes."""
    return re.sub(r"[a-z]+(_[a-z]+)+", lambda found: _label(found[0]), reason)


def _label(code: str) -> str:
    for kind in ("symptoms", "findings", "environments", "connectors"):
        if code in catalogue.codes(kind):
            return f'"{catalogue.codes(kind)[code].label}"'
    return text.words(code)


def _ask_result(check: Row) -> None:
    code, unit = str(check["check"]), str(check["unit"])
    if unit != "outcome":
        value, point = st.columns(2)
        value.text_input(
            f"Value measured ({unit})",
            key=bench_readings.value_key(PAGE, code),
            on_change=bench_readings.note_value,
            args=(PAGE, code, unit),
            help="Enter notes it; OL or >999 where the meter is over its range",
        )
        point.text_input(
            "At which point",
            key=bench_readings.point_key(PAGE, code),
            help="First the point, then the value: each point is noted by itself",
        )
    with st.container(horizontal=True):
        for outcome, label in OUTCOMES.items():
            st.button(
                label,
                key=f"{PAGE}_{outcome}_{code}",
                on_click=bench_readings.note_outcome,
                args=(PAGE, code, outcome),
            )


def _show_noted(answer: Answer) -> None:
    readings = cast("Sequence[Row]", answer.more["readings"])
    if not readings:
        return
    st.header("Checks noted for this unit")
    for row in readings:
        label = catalogue.checks()[str(row["check"])].label
        at = f" at {row['point']}" if row["point"] else ""
        typed = row["value"] not in OUTCOMES
        value = f" {row['value']} {row['unit'] or ''}," if typed else ""
        outcome = SHOWN.get(str(row["outcome"]), text.words(str(row["outcome"])))
        meaning = widgets.as_typed(str(row["meaning"]))
        st.markdown(
            f"- {label}{widgets.as_typed(at)}:{widgets.as_typed(value)} "
            f"**{outcome}**. {meaning}"
        )
    with st.container(horizontal=True):
        st.button(
            "Take the last one back",
            key=f"{PAGE}_take_back",
            on_click=bench_readings.take_back,
            args=(PAGE,),
        )
        st.button(
            "Opened, repaired or powered again: start over",
            key=f"{PAGE}_start_over",
            on_click=bench_readings.forget_readings,
            args=(PAGE,),
            kwargs={"because": "The unit was worked on"},
        )
    st.caption("On this screen only: gone with a reload, another unit or another day.")


def _show_suspects(answer: Answer) -> None:
    if not answer.more["enough_evidence"]:
        return
    st.header("Suspects")
    show_chart(
        charts.suspects_chart(answer.rows),
        key=f"{PAGE}_chart",
        seen="Bars: share of each likely fault; the list below holds the numbers",
    )
    for row in answer.rows:
        reasons = cast("Sequence[str]", row["reasons"])
        why = (
            "; ".join(widgets.as_typed(_spoken(reason)) for reason in reasons)
            or "nothing but chance"
        )
        critical = ", critical" if row["severity"] == "critical" else ""
        st.markdown(
            f"- **{row['label']}**{critical}: "
            f"{100 * cast('float', row['probability']):.0f} %, "
            f"{_like(row)}. Why: {why}"
        )
    st.caption(str(answer.more["source"]))


def _show_to_ask(answer: Answer) -> None:
    asks = cast("Sequence[Mapping[str, str]]", answer.more["ask_next"])
    if not asks:
        return
    st.header("What else to ask")
    for item in asks:
        with st.container(horizontal=True, vertical_alignment="center"):
            st.markdown(f"{item['label']}?")
            for name, label in (("symptom", "Yes"), ("not_symptom", "No")):
                st.button(
                    label,
                    key=f"{PAGE}_ask_{name}_{item['symptom']}",
                    on_click=answer_symptom,
                    args=(name, item["symptom"]),
                )


def _show_further(answer: Answer) -> None:
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


def _tell_left_out(answer: Answer) -> None:
    widgets.tell_left_out(
        [
            answer.method,
            str(answer.more["source"]),
            "What is neither reported nor answered no counts as not known.",
            (
                "Live checks are not shown before every gate check of this unit has "
                "passed."
            ),
        ]
    )


widgets.show_page("What is it likely to be, and what to check first?", body)
