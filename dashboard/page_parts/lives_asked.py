"""What is asked of lives beside the filters: widgets that show and set the address."""

from collections.abc import Sequence

import streamlit as st
from pydantic import ValidationError

from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.drawing.charts_fitted import NAMES
from dashboard.page_parts.filter_widgets import known_values, labels_of
from dashboard.queries.life import DISTRIBUTIONS
from dashboard.queries.life_choice import GROUP_WORDS, LARGEST_AGE, LARGEST_SHAPE, TWO
from dashboard.queries.life_words import LifeWords
from ingest.errors import UsageError

PAGE = "life"
WORDS = tuple(LifeWords.model_fields)
LISTS = {"group", "age", "assumed_shape"}
FIRST_SHAPES = (1.0, 3.0)  # from failures at random to a clear wear-out
USUAL_AGES = (30, 90, 180, 365, 730, 1095, 1825)
SMALLEST_SHAPE = 0.1


def words_of_address() -> LifeWords:
    """Return what the address asks beside the filters.

    Raises
    ------
    UsageError
        A value that is not known or no number.
    """
    words: dict[str, object] = {
        name: st.query_params.get_all(name) if name in LISTS else st.query_params[name]
        for name in WORDS
        if name in st.query_params
    }
    try:
        return LifeWords.model_validate(words)
    except ValidationError as error:
        first = error.errors()[0]
        name = str(first["loc"][0])
        known = {"distribution": DISTRIBUTIONS} | dict.fromkeys(
            ("by", "within"), GROUP_WORDS
        )
        hint = f"Known are {', '.join(known[name])}; c" if name in known else "C"
        what = "known" if name in known else "a number"
        raise UsageError(
            f"{text.words(name)} {first['input']} is not {what}.",
            hint=f"{hint}orrect the address, or leave the word out.",
        ) from None


def choose_law(words: LifeWords) -> None:
    """Let the law be chosen."""
    key = f"{PAGE}_distribution"
    st.session_state[key] = words.distribution
    st.selectbox(
        "Law fitted",
        DISTRIBUTIONS,
        format_func=lambda name: NAMES[name].capitalize(),
        key=key,
        on_change=_single_to_address,
        args=("distribution", key),
        width=220,
    )


def choose_ages(words: LifeWords) -> None:
    """Let the ages be named at which the failed share is shown."""
    key = f"{PAGE}_age"
    chosen = [f"{age:g}" for age in words.age]
    st.session_state[key] = chosen
    usual = [str(age) for age in USUAL_AGES]
    st.multiselect(
        "Ages to show (days)",
        [*usual, *(age for age in chosen if age not in usual)],
        key=key,
        accept_new_options=True,
        placeholder="the usual ones; type any number of days",
        on_change=_ages_to_address,
        args=(key,),
    )
    refused = st.session_state.pop(f"{key}_refused", "")
    if refused:
        st.warning(
            f"{refused}: not a number of days above 0 and up to {LARGEST_AGE:.0f}."
        )


def choose_groups(snapshot: Snapshot, words: LifeWords) -> None:
    """Let two groups be chosen, and with which units each is compared."""
    with st.container(horizontal=True, vertical_alignment="bottom"):
        _choose_word("by", "Compare by", words.by, besides=None)
        if words.by is None:
            return
        _choose_two(snapshot, words)
        _choose_word("within", "Only among units of the same", words.within, words.by)


def _choose_word(name: str, label: str, value: str | None, besides: str | None) -> None:
    key = f"{PAGE}_{name}"
    st.session_state[key] = value
    st.selectbox(
        label,
        [word for word in GROUP_WORDS if word != besides],
        format_func=text.words,
        key=key,
        placeholder="nothing",
        on_change=_single_to_address,
        args=(name, key),
        width=230,
    )


def _choose_two(snapshot: Snapshot, words: LifeWords) -> None:
    by = str(words.by)
    key = f"{PAGE}_group"
    # One alone is no comparison: it waits here for the second.
    if len(st.session_state.get(key, [])) != 1:
        st.session_state[key] = list(words.group)
    known = known_values(snapshot, by)
    chosen = [*st.session_state[key], *words.group]
    st.multiselect(
        "Two groups",
        [*known, *dict.fromkeys(value for value in chosen if value not in known)],
        format_func=labels_of(by),
        key=key,
        max_selections=TWO,
        placeholder="the two with most failures",
        on_change=_groups_to_address,
        args=(key,),
        width=380,
    )


def choose_shapes(words: LifeWords) -> None:
    """Let a range of Weibull shapes be stated, to be taken as known."""
    low, high = f"{PAGE}_shape_low", f"{PAGE}_shape_high"
    stated = words.assumed_shape or FIRST_SHAPES
    for key, value in ((low, min(stated)), (high, max(stated))):
        st.session_state.setdefault(key, value)
    with st.container(horizontal=True, vertical_alignment="bottom"):
        for key, label in ((low, "Shape from"), (high, "to")):
            st.number_input(
                label,
                min_value=SMALLEST_SHAPE,
                max_value=LARGEST_SHAPE,
                step=0.1,
                format="%.1f",
                key=key,
                width=140,
            )
        st.button(
            "Show what this range would mean",
            key=f"{PAGE}_assume",
            on_click=_shapes_to_address,
            args=(low, high),
        )
        if words.assumed_shape:
            st.button(
                "Assume no shape",
                key=f"{PAGE}_assume_nothing",
                on_click=_drop,
                args=("assumed_shape",),
            )


def _drop(name: str) -> None:
    st.query_params.pop(name, None)


def _single_to_address(name: str, key: str) -> None:
    value = st.session_state[key]
    if name == "by":
        # What was chosen with another word names no group of this one.
        for other in ("group", "within"):
            _drop(other)
        st.session_state.pop(f"{PAGE}_group", None)
    if value is None or value == LifeWords.model_fields[name].default:
        _drop(name)
    else:
        st.query_params[name] = value


def _list_to_address(name: str, values: Sequence[str]) -> None:
    if values:
        st.query_params[name] = values
    else:
        _drop(name)


def _groups_to_address(key: str) -> None:
    chosen = st.session_state[key]
    _list_to_address("group", chosen if len(chosen) == TWO else [])


def _ages_to_address(key: str) -> None:
    typed = [str(value).strip() for value in st.session_state[key]]
    ages = [value for value in typed if _is_age(value)]
    st.session_state[f"{key}_refused"] = ", ".join(
        value for value in typed if value not in ages
    )
    _list_to_address("age", sorted(set(ages), key=float))


def _is_age(typed: str) -> bool:
    try:
        return 0 < float(typed) <= LARGEST_AGE
    except ValueError:
        return False


def _shapes_to_address(low: str, high: str) -> None:
    shapes = sorted({st.session_state[low], st.session_state[high]})
    _list_to_address("assumed_shape", [f"{shape:g}" for shape in shapes])
