"""The filters of a report page: one popover, kept in the address of the page.

The address is the one truth: widgets show what it says, and write to it. Its words
are those of the API.
"""

from collections.abc import Callable, Mapping, Sequence

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.filters import Filters
from dashboard.page_parts.widgets import as_typed
from dashboard.queries.listings import values_in_use
from ingest import catalogue

DAYS = ("from", "to")
WORDS = tuple(field.alias or name for name, field in Filters.model_fields.items())
REMEMBERED = 16

# The lists behind the words that are codes.
CODES = {
    "mechanism": "mechanisms",
    "component": "components",
    "cause": "cause_categories",
    "severity": "severities",
    "environment": "environments",
    "duty": "duties",
    "connector": "connectors",
}
GROUPS: Mapping[str, Sequence[str]] = {
    "Units": (
        "model",
        "lot",
        "hardware_revision",
        "firmware_version",
        "cable_supplier",
        "connector",
    ),
    "Places": ("site", "region", "environment", "duty"),
    "Failures": (
        "component",
        "mode",
        "severity",
        "mechanism",
        "cause",
        "opened_before_arrival",
    ),
}


def chosen_filters(
    page: str, snapshot: Snapshot, *, days: str, besides: Sequence[str] = ()
) -> Filters:
    """Show the filters of a page and return those chosen.

    Parameters
    ----------
    page : str
        Address of the page; the start of every widget key.
    snapshot : Snapshot
    days : str
        Which day the first and last day mean on this page.
    besides : sequence of str
        Further words the address of this page may hold.

    Raises
    ------
    UsageError
        The address holds a word or a value that is not known.
    """
    words = {name: _of_address(name) for name in st.query_params if name not in besides}
    filters = Filters.of(words)
    with st.container(horizontal=True, vertical_alignment="center"):
        with st.popover("Choose units and failures"):
            _show_choices(page, snapshot, filters, days=days)
        _show_chips(page, filters)
    return filters


def _of_address(name: str) -> object:
    values = st.query_params.get_all(name)
    return values[-1] if name in DAYS else values


def _show_choices(
    page: str, snapshot: Snapshot, filters: Filters, *, days: str
) -> None:
    stated = filters.stated()
    in_use = _values_in_use(snapshot.about.snapshot, snapshot)
    *places, last = st.tabs([*GROUPS, days])
    for place, names in zip(places, GROUPS.values(), strict=True):
        with place:
            for name in names:
                chosen = [str(value) for value in _list(stated.get(name))]
                _show_choice(page, name, chosen, _options(name, in_use))
    with last:
        for name in DAYS:
            key = f"{page}_filter_{name}"
            st.session_state[key] = filters.from_ if name == "from" else filters.to
            st.date_input(
                f"{_spoken(name)} (included)",
                key=key,
                value=None,
                on_change=_to_address,
                args=(name, key),
            )


def _show_choice(page: str, name: str, chosen: list[str], known: Sequence[str]) -> None:
    key = f"{page}_filter_{name}"
    st.session_state[key] = chosen
    st.multiselect(
        _spoken(name),
        # A value that no unit has any more is still what was chosen.
        [*known, *(value for value in chosen if value not in known)],
        format_func=labels_of(name),
        key=key,
        on_change=_to_address,
        args=(name, key),
        accept_new_options=name == "firmware_version",
        placeholder="all",
    )


def _show_chips(page: str, filters: Filters) -> None:
    for name, value in filters.stated().items():
        for single in _list(value):
            st.button(
                f"{_spoken(name)}: {as_typed(labels_of(name)(str(single)))}  ✕",
                help="Leave this filter out",
                key=f"{page}_drop_{name}_{single}",
                on_click=_drop,
                args=(name, str(single)),
            )


def _to_address(name: str, key: str) -> None:
    value = st.session_state[key]
    if value:
        st.query_params[name] = value if isinstance(value, list) else str(value)
    else:
        st.query_params.pop(name, None)


def _drop(name: str, value: str) -> None:
    left = [other for other in st.query_params.get_all(name) if other != value]
    if left:
        st.query_params[name] = left
    else:
        st.query_params.pop(name, None)


def _list(value: object) -> Sequence[object]:
    if value is None:
        return ()
    return value if isinstance(value, list) else [value]


def _options(name: str, in_use: Mapping[str, Sequence[str]]) -> Sequence[str]:
    if name in in_use:
        return in_use[name]
    if name == "mode":
        return list(catalogue.failure_modes())
    if name == "opened_before_arrival":
        return ["yes", "no", "unknown"]
    return list(catalogue.codes(CODES[name])) if name in CODES else []


def known_values(snapshot: Snapshot, name: str) -> Sequence[str]:
    """Return the values a filter can take, by the word of the address."""
    return _options(name, _values_in_use(snapshot.about.snapshot, snapshot))


def labels_of(name: str) -> Callable[[str], str]:
    """Return what turns a value of a filter into words."""
    labels: dict[str, str] = {}
    if name == "mode":
        labels = {code: row.label for code, row in catalogue.failure_modes().items()}
    elif name in CODES:
        labels = {c: row.label for c, row in catalogue.codes(CODES[name]).items()}
    return lambda value: labels.get(value, value)


def _spoken(name: str) -> str:
    return text.words(name).capitalize()


@st.cache_data(max_entries=REMEMBERED, show_spinner=False)
def _values_in_use(key: str, _snapshot: Snapshot) -> dict[str, list[str]]:
    del key  # the figures of one id never change
    return values_in_use(_snapshot)
