"""What is known of the return on the bench: the left side of the page Bench.

The address of the page is the one truth: widgets show what it says, and write to it,
in the words of the API. What was read or said at the bench is never in it.
"""

from collections.abc import Mapping, Sequence
from typing import cast

import streamlit as st

from analytics.advice.limits_pilot import LEAST_A, MOST_A
from analytics.rollup.snapshot import Snapshot
from dashboard.page_parts import widgets
from dashboard.page_parts.bench_readings import forget_readings
from dashboard.page_parts.bench_unit import show_unit_history
from dashboard.queries.answer import Answer, Row
from dashboard.queries.intake import Intake
from dashboard.queries.listings import values_in_use
from ingest import catalogue

# Where a symptom is felt: each symptom stands under one of these.
FELT: Mapping[str, Sequence[str]] = {
    "Charging": (
        "vehicle_not_detected",
        "charge_does_not_start",
        "charge_stops_early",
        "current_reduced",
        "one_phase_missing",
        "no_relay_click",
        "relay_clicks_no_charge",
        "fails_when_wet",
        "fails_when_hot",
    ),
    "Handle and cable": (
        "stops_when_cable_moved",
        "works_when_cable_moved",
        "handle_hot",
        "latch_does_not_lock",
        "latch_does_not_release",
        "charge_continues_when_latch_pressed",
        "sparks_at_unplug",
        "handle_live_when_off",
    ),
    "Supply and trips": (
        "breaker_trips",
        "ground_fault_trips_at_once",
        "ground_fault_trips_sometimes",
        "upstream_device_trips",
        "earth_fault_shown",
        "supply_plug_hot",
    ),
    "Unit and display": (
        "no_power_indication",
        "display_dead",
        "fault_indicator_on",
        "relay_stuck_shown",
        "burning_smell",
        "humming",
        "restarts_or_freezes",
        "offline",
        "reader_dead",
        "meter_wrong",
    ),
}
ROWS = {"symptom": "Reported", "not_symptom": "Asked, answered no"}
UNIT = ("serial", "model", "connector")  # another value: another unit is on the bench
OPENED = {"yes": "Yes", "no": "No", "unknown": "Asked, not known"}


def show_case(page: str, snapshot: Snapshot, intake: Intake, answer: Answer) -> None:
    """Show what is known of the return, to be read and changed."""
    _show_serial(page, intake, cast("Row", answer.more["unit"]))
    show_unit_history(intake.serial, snapshot)
    _show_unit(page, snapshot, intake)
    _show_symptoms(page, intake)
    findings = catalogue.codes("findings")
    with st.expander("Seen before power is applied", key=f"{page}_seen"):
        _several(page, "finding", list(intake.finding))
        st.pills(
            "Findings",
            list(findings),
            format_func=lambda code: findings[code].label,
            selection_mode="multi",
            key=f"{page}_finding",
            on_change=_to_address,
            args=(page, "finding"),
            label_visibility="collapsed",
        )
    _several(page, "error_word", list(intake.error_word))
    st.multiselect(
        "Error words of the charger",
        list(catalogue.codes("charger_error_codes")),
        key=f"{page}_error_word",
        on_change=_to_address,
        args=(page, "error_word"),
        placeholder="none read",
    )
    _several(page, "text", intake.text or "")
    st.text_area(
        "The complaint in words",
        key=f"{page}_text",
        on_change=_to_address,
        args=(page, "text"),
        height=80,
    )
    st.button(
        "Next return: clear all",
        key=f"{page}_clear",
        on_click=_clear,
        help="Takes the case and the checks noted off the screen",
    )


def answer_symptom(name: str, code: str) -> None:
    """Write one symptom to the address: as reported, or as asked and answered no."""
    _write(name, [*st.query_params.get_all(name), code])
    other = _other(name)
    _write(other, [kept for kept in st.query_params.get_all(other) if kept != code])


def _show_serial(page: str, intake: Intake, unit: Row) -> None:
    _several(page, "serial", intake.serial or "")
    st.text_input(
        "Serial",
        key=f"{page}_serial",
        on_change=_to_address,
        args=(page, "serial"),
        placeholder="scan or type it",
    )
    st.caption(widgets.as_typed(str(unit["words"])))
    known = cast("Sequence[str]", unit["facts_words"])
    if unit["is_known"] and known:
        st.caption(widgets.as_typed(f"Known of it: {', '.join(known)}."))


def _show_unit(page: str, snapshot: Snapshot, intake: Intake) -> None:
    models = values_in_use(snapshot).get("model", [])
    known = intake.model is None or intake.model in models
    options = {
        "model": models if known else [*models, str(intake.model)],
        "connector": list(catalogue.codes("connectors")),
        "environment": list(catalogue.codes("environments")),
    }
    labels = {
        code: row.label
        for kind in ("connectors", "environments")
        for code, row in catalogue.codes(kind).items()
    }
    left, right = st.columns(2)
    places = {"model": left, "connector": right, "environment": left}
    for name, choices in options.items():
        _several(page, name, getattr(intake, name))
        places[name].selectbox(
            name.capitalize(),
            choices,
            index=None,
            format_func=lambda value: labels.get(value, value),
            key=f"{page}_{name}",
            on_change=_to_address,
            args=(page, name),
            placeholder="not known",
        )
    _several(page, "age_days", intake.age_days)
    right.number_input(
        "Age (days in service)",
        min_value=0,
        max_value=36_525,
        value=None,
        step=1,
        key=f"{page}_age_days",
        on_change=_to_address,
        args=(page, "age_days"),
        placeholder="?",
    )
    _several(page, "current_setting_a", intake.current_setting_a)
    left.number_input(
        "Current it is set to (A)",
        min_value=LEAST_A,
        max_value=MOST_A,
        value=None,
        step=1.0,
        format="%g",
        key=f"{page}_current_setting_a",
        on_change=_to_address,
        args=(page, "current_setting_a"),
        placeholder="?",
    )
    _several(page, "opened_before_arrival", intake.opened_before_arrival)
    right.selectbox(
        "Opened before it arrived",
        list(OPENED),
        index=None,
        format_func=lambda word: OPENED.get(word, word),
        key=f"{page}_opened_before_arrival",
        on_change=_to_address,
        args=(page, "opened_before_arrival"),
        placeholder="not asked",
    )


def _show_symptoms(page: str, intake: Intake) -> None:
    symptoms = catalogue.codes("symptoms")
    st.markdown("**Symptoms**, by where they are felt; neither row means not known")
    for tab, (place, codes) in zip(st.tabs(list(FELT)), FELT.items(), strict=True):
        for name, title in ROWS.items():
            key = f"{page}_{name}_{place}"
            chosen = getattr(intake, name)
            st.session_state[key] = [code for code in codes if code in chosen]
            tab.pills(
                title,
                codes,
                format_func=lambda code: symptoms[code].label,
                selection_mode="multi",
                key=key,
                on_change=_symptoms_to_address,
                args=(key, name, codes),
            )
    for name, title in ROWS.items():
        chosen = getattr(intake, name)
        if chosen:
            labels = ", ".join(symptoms[code].label for code in chosen)
            st.markdown(f"{title}: {labels}")


def _several(page: str, name: str, value: object) -> None:
    st.session_state[f"{page}_{name}"] = value


def _symptoms_to_address(key: str, name: str, codes: Sequence[str]) -> None:
    chosen = st.session_state[key]
    elsewhere = [c for c in st.query_params.get_all(name) if c not in codes]
    _write(name, [*elsewhere, *chosen])
    other = _other(name)
    _write(other, [c for c in st.query_params.get_all(other) if c not in chosen])


def _other(name: str) -> str:
    return "not_symptom" if name == "symptom" else "symptom"


def _to_address(page: str, name: str) -> None:
    _write(name, st.session_state[f"{page}_{name}"])
    if name in UNIT:
        forget_readings(page, because="The unit changed")


def _write(name: str, value: object) -> None:
    words = value if isinstance(value, list) else str(value or "").strip()
    if words or value == 0:
        st.query_params[name] = words or "0"
    else:
        st.query_params.pop(name, None)


def _clear() -> None:
    st.query_params.clear()
    forget_readings("suggest", because="")
