"""Page: how long units last before their first confirmed failure."""

from collections.abc import Mapping, Sequence
from typing import cast

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard import charts, text, widgets
from dashboard.filter_widgets import chosen_filters
from dashboard.filters import Filters
from dashboard.queries.answer import Answer, Row
from dashboard.queries.life import DISTRIBUTIONS, Distribution, life
from ingest.errors import UsageError

PAGE = "life"
LAW = "distribution"
LAW_KEY = f"{PAGE}_{LAW}"
B10 = 0.10
SURE_SHAPE = 1.0  # neither more nor less frequent with age


@st.cache_data(max_entries=widgets.REMEMBERED, show_spinner="Fitting lives")
def ask(
    snapshot: str,
    filters: str,
    law: Distribution,
    _snapshot: Snapshot,
    _filters: Filters,
) -> Answer:
    """Return the answer, once for each snapshot, choice and law."""
    del snapshot, filters  # they are the key
    return life(_snapshot, _filters, distribution=law)


def body(snapshot: Snapshot) -> None:
    """Show the answer to the question."""
    widgets.tell_basis(snapshot.about)
    filters = chosen_filters(PAGE, snapshot, days="In service since", besides=(LAW,))
    law = _law()
    key = filters.model_dump_json()
    answer = ask(snapshot.about.snapshot, key, law, snapshot, filters)
    widgets.tell_answer(_by_age(answer, filters))
    st.markdown(_frequency(answer))
    is_part = "incidence" in answer.rows[0]
    st.subheader(
        "Units failed by age with this failure, beside others, with 95 % band"
        if is_part
        else "Units failed by age, with 95 % band and the fit over it"
    )
    st.altair_chart(
        charts.life_chart(answer),
        key=f"{PAGE}_chart",
        alt="Curve: share of units failed by age; the tables below hold the numbers",
    )
    st.caption(_below_chart(answer, is_part=is_part))
    _show_ages(answer, is_part=is_part)
    _show_curve(answer, is_part=is_part)
    words = filters.stated() | ({LAW: law} if law != DISTRIBUTIONS[0] else {})
    widgets.offer_files(PAGE, answer, words=words)
    _tell_left_out(answer)


def _law() -> Distribution:
    named = st.query_params.get(LAW, DISTRIBUTIONS[0])
    if named not in DISTRIBUTIONS:
        raise UsageError(
            f"{LAW} {named} is not known.",
            hint=f"Known are {', '.join(DISTRIBUTIONS)}; correct the address.",
        )
    st.session_state[LAW_KEY] = named
    return st.selectbox(
        "Law fitted",
        DISTRIBUTIONS,
        key=LAW_KEY,
        on_change=_law_to_address,
        width=220,
    )


def _law_to_address() -> None:
    st.query_params[LAW] = st.session_state[LAW_KEY]


def _number(values: Mapping[str, object], name: str) -> int:
    return cast("int", values[name])


def _by_age(answer: Answer, filters: Filters) -> str:
    b_lives = cast("Sequence[Row]", answer.more["b_lives"])
    row = next(row for row in b_lives if row["failed_fraction"] == B10)
    age, low, high = (cast("float", row[name]) for name in ("age_days", "low", "high"))
    fit = cast("Mapping[str, object]", answer.more["fit"])
    counted = (
        f"{text.count(_number(fit, 'n_failed'))} failures of "
        f"{text.count(_number(fit, 'n_units'))} units"
    )
    where = (
        ", an age beyond the oldest unit seen, so read from the fit alone"
        if row["extrapolated"]
        else ""
    )
    condition = " if no other failure existed" if filters.names_failures else ""
    return (
        f"10 % of units have failed by {text.estimate(age)} days{condition} "
        f"(B10; 95 % interval {text.interval(low, high)}; {counted}){where}."
    )


def _frequency(answer: Answer) -> str:
    fit = cast("Mapping[str, object]", answer.more["fit"])
    intervals = cast("Mapping[str, Sequence[float]]", fit["intervals"])
    if "shape" not in intervals:
        return "This law does not ask whether failures become more frequent with age."
    low, high = intervals["shape"]
    shape = cast("Mapping[str, float]", fit["parameters"])["shape"]
    basis = (
        f"Weibull shape {text.estimate(shape)}, 95 % interval "
        f"{text.interval(low, high)}"
    )
    if low > SURE_SHAPE:
        return f"Failures become more frequent with age ({basis})."
    if high < SURE_SHAPE:
        return (
            f"Failures become less frequent with age ({basis}); a mix of weak and "
            "strong units looks the same."
        )
    return (
        "The data do not show whether failures become more or less frequent with age "
        f"({basis})."
    )


def _below_chart(answer: Answer, *, is_part: bool) -> str:
    oldest = text.estimate(cast("float", answer.more["largest_age"]))
    seen = f"The oldest unit was seen to {oldest} days"
    if is_part:
        return (
            f"{seen}. The fit is not drawn: it says what would be if other failures "
            "did not exist, the curve what happens beside them."
        )
    return f"{seen}; beyond it the fit is dashed."


def _show_ages(answer: Answer, *, is_part: bool) -> None:
    fit = cast("Mapping[str, object]", answer.more["fit"])
    b_lives = cast("Sequence[Row]", answer.more["b_lives"])
    beside = ", if no other failure existed" if is_part else ""
    st.subheader(f"Age by which units have failed ({fit[LAW]} fit{beside})")
    rows: list[Row] = [
        {
            "failed": f"{100 * cast('float', row['failed_fraction']):.0f} %",
            "name": f"B{100 * cast('float', row['failed_fraction']):.0f}",
            "age": text.estimate(cast("float", row["age_days"])),
            "interval": text.interval(
                cast("float", row["low"]), cast("float", row["high"])
            ),
            "n_failed": row["n_failed"],
            "note": "beyond the oldest unit seen" if row["extrapolated"] else "",
        }
        for row in b_lives
    ]
    widgets.show_table(
        rows,
        {
            "failed": "failed",
            "name": "short name",
            "age": "by age (days)",
            "interval": "95 % interval (days)",
            "n_failed": "failures behind it",
            "note": "note",
        },
        key=f"{PAGE}_ages",
        what="Ages by which given shares of units have failed, with intervals",
    )


def _show_curve(answer: Answer, *, is_part: bool) -> None:
    rows = []
    for row in answer.rows:
        values = {name: cast("float", value) for name, value in row.items()}
        failed = (
            (values["incidence"], values["incidence_low"], values["incidence_high"])
            if is_part
            else (1 - values["survival"], 1 - values["high"], 1 - values["low"])
        )
        shares = zip(("failed", "low", "high"), failed, strict=True)
        rows.append(row | {name: 100 * value for name, value in shares})
    with st.expander("The curve as a table"):
        widgets.show_table(
            rows,
            {
                "age_days": "age (days)",
                "failed": widgets.percent("failed (%)"),
                "low": widgets.percent("95 % from (%)"),
                "high": widgets.percent("to (%)"),
                "n_at_risk": "units at risk",
                "n_failed": "failures",
            },
            key=f"{PAGE}_curve",
            what="Share of units failed by age, with interval and units at risk",
        )


def _tell_left_out(answer: Answer) -> None:
    more = answer.more
    left_out = cast("Mapping[str, int]", more["left_out"])
    n_open = text.count(_number(more, "n_open"))
    n_estimated = text.count(_number(more, "n_estimated_start"))
    sentences = [
        answer.method,
        (
            f"Failures count up to {more['observation_end']}: reports come in up to "
            f"{more['delay_days']} days late ({more['delay_source']})."
        ),
        (
            f"Still open on units counted here: {n_open} cases; until confirmed they "
            "count as working when last seen."
        ),
        f"Start of life estimated from the day of shipment: {n_estimated} units.",
    ]
    sentences += [f"Left out: {phrase}." for phrase in widgets.left_out_words(left_out)]
    widgets.tell_left_out(sentences)


widgets.show_page("How long do units last before the first failure?", body)
