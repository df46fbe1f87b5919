"""Recurring failures: how often the watch is wrong, and what it does not see."""

from typing import cast

import streamlit as st

from dashboard import text
from dashboard.page_parts import widgets
from dashboard.page_parts.watch_shown import PAGE, Watched, estimate
from dashboard.page_parts.widgets import as_typed
from dashboard.queries.answer import Row

MISSES = (
    "Fewer than 10 groups: up to a third more false alarms than stated.",
    (
        "A slow rise of one group over years becomes part of its own past, and may "
        "never raise an alarm."
    ),
    (
        "A lot that is bad from its first day is told from its siblings only where it "
        "is about three times as bad."
    ),
)
COUNTED = (
    "Counted: first confirmed failures of units in the register, by the month of "
    "failure. Units that failed before count under returns after a repair."
)
FILTERS = (
    "Filters choose alarms with at least one case under them; the numbers of an alarm "
    "stay those of the whole fleet, for which the setting holds."
)


def show_trust(shown: Watched) -> None:
    """Show how many false alarms were counted where nothing recurred."""
    st.header("How often does this watch cry wolf?")
    st.markdown(
        f"The setting is {shown.per_year} a year over the whole fleet "
        "(`false_alarms_per_year` in mendfleet.toml)."
    )
    rows = shown.rows("measured")
    if rows:
        fewest, most = (
            choose(rows, key=lambda row: cast("float", row["ratio"]))
            for choose in (min, max)
        )
        st.markdown(
            f"On {text.count(len(rows))} kinds of simulated fleet in which nothing "
            "recurs, false alarms counted for each one stated (1 means that the "
            f"setting is kept): from {_ratio(fewest)} ({fewest['words']}) to "
            f"{_ratio(most)} ({most['words']})."
        )
        with st.expander("All kinds of fleet that were simulated"):
            st.table(
                [_measured(row) for row in rows], border="horizontal", hide_index=True
            )
            shown.offer("measured")
    st.markdown("Where it is known to miss:")
    for sentence in MISSES:
        st.markdown(f"- {sentence}")


def _ratio(row: Row) -> str:
    ratio, error = cast("float", row["ratio"]), cast("float", row["standard_error"])
    return f"{ratio:.2f}, give or take {2 * error:.2f}"


def _measured(row: Row) -> dict[str, str]:
    ratio, error = cast("float", row["ratio"]), cast("float", row["standard_error"])
    return {
        "fleets in which": str(row["words"]),
        "false alarms counted for each one stated": f"{ratio:.2f}",
        "give or take 2 standard errors": f"{2 * error:.2f}",
        "fleets simulated": text.count(cast("int", row["n_fleets"])),
    }


def show_families(shown: Watched) -> None:
    """Show the ways in which all failures are split into groups."""
    rows = shown.rows("families")
    if not rows:
        return
    st.header("Which groups are watched?")
    widgets.show_table(
        rows,
        {
            "words": st.column_config.TextColumn("failures split by", width="medium"),
            "n_groups": "groups",
            "n_failures": "failures",
            "n_too_thin": "too small to watch",
            "level_cv": st.column_config.NumberColumn(
                "spread of their levels", format="%.2f"
            ),
            "dispersion": st.column_config.NumberColumn(
                "variance for each one of chance", format="%.2f"
            ),
            "threshold": st.column_config.NumberColumn(
                "threshold of evidence", format="%.1f"
            ),
        },
        key=f"{PAGE}_families",
        what="Ways to split the failures, with groups, failures and threshold",
    )
    shown.offer("families")


def tell_left_out(shown: Watched) -> None:
    """Write what is left out and assumed."""
    fleet = shown.row("fleet")
    sentences = [f"{part}." for part in shown.answer.method.rstrip(".").split(". ")]
    if fleet["n_months"]:
        sentences.append(
            f"Watched: {text.count(cast('int', fleet['n_months']))} months from "
            f"{fleet['first_month']} to {fleet['last_month']}, "
            f"{text.counted(cast('int', fleet['n_failures']), 'first failure')} in "
            f"{text.counted(cast('int', fleet['n_groups']), 'group')}."
        )
    if fleet.get("completeness") is not None and not fleet.get("is_complete"):
        sentences.append(
            "The newest month is not complete: about "
            f"{estimate(fleet, 'completeness')} of its failures are known by now."
        )
    sentences += [
        COUNTED,
        FILTERS,
        "Simulated together, so that a cause seen in several groups counts once."
        if fleet.get("is_joint")
        else "Each kind of group was simulated by itself: the stated number of false "
        "alarms is an upper figure.",
    ]
    widgets.tell_left_out([as_typed(sentence) for sentence in sentences])
