"""Page: how long units last before their first confirmed failure."""

from typing import cast

import streamlit as st

from analytics.errors import InsufficientDataError
from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.filters import Filters
from dashboard.page_parts import (
    lives_curve,
    lives_few,
    lives_groups,
    lives_laws,
    lives_rates,
    widgets,
)
from dashboard.page_parts.filter_widgets import chosen_filters
from dashboard.page_parts.lives_asked import PAGE, WORDS, choose_law, words_of_address
from dashboard.page_parts.lives_shown import Shown, count
from dashboard.page_parts.today_changes import tell_change
from dashboard.queries.answer import Answer
from dashboard.queries.life import life
from dashboard.queries.life_words import LifeWords
from ingest.errors import UserError

# A range of shapes for which any lives at all give an answer.
ANY_SHAPE = (1.0,)

Refusal = InsufficientDataError | UserError


@st.cache_data(max_entries=widgets.REMEMBERED, show_spinner="Fitting lives")
def ask(
    snapshot: str,
    question: str,
    _snapshot: Snapshot,
    _filters: Filters,
    _words: LifeWords,
) -> Answer:
    """Return the answer, once for each snapshot and question."""
    del snapshot, question  # they are the key
    return life(_snapshot, _filters, **_words.asked())


def asked(snapshot: Snapshot, filters: Filters, words: LifeWords) -> Answer:
    """Return the answer to a question."""
    question = filters.model_dump_json() + words.model_dump_json()
    return ask(snapshot.about.snapshot, question, snapshot, filters, words)


def body(snapshot: Snapshot) -> None:
    """Show the answer to the question."""
    widgets.tell_basis(snapshot.about)
    filters = chosen_filters(PAGE, snapshot, days="In service since", besides=WORDS)
    tell_change(snapshot, filters, days_of_receipt=False)
    words = words_of_address()
    if not words.assumed_shape:
        choose_law(words)
    try:
        answer, refused = _answered(snapshot, filters, words)
    except InsufficientDataError as error:
        _show_way_on(error, snapshot, filters, words)
        return
    shown = Shown(answer, words)
    assumed = shown.row("assumed")
    if assumed is None:
        _show_fitted(shown)
    else:
        lives_few.show_assumed(shown, assumed)
        lives_curve.tell_reach(shown)
        lives_curve.show_curve(shown)
        lives_few.show_shapes(shown, assumed)
        lives_curve.show_shares(shown)
    lives_rates.show_rates(shown)
    lives_rates.show_modes(shown)
    lives_rates.show_without(shown)
    lives_groups.show_groups(snapshot, shown, refused)
    _tell_left_out(shown)


def _answered(
    snapshot: Snapshot, filters: Filters, words: LifeWords
) -> tuple[Answer, Refusal | None]:
    # Groups that cannot be compared leave the rest of the page as it is.
    try:
        return asked(snapshot, filters, words), None
    except (InsufficientDataError, UserError) as error:
        if words.by is None:
            raise
        alone = words.model_copy(update={"by": None, "group": (), "within": None})
        return asked(snapshot, filters, alone), error


def _show_way_on(
    error: InsufficientDataError, snapshot: Snapshot, filters: Filters, words: LifeWords
) -> None:
    # Without units, or in a register of returned ones, no assumption helps.
    try:
        asked(snapshot, filters, LifeWords(assumed_shape=ANY_SHAPE))
    except InsufficientDataError:
        raise error from None
    lives_few.tell_way_on(error, words)


def _show_fitted(shown: Shown) -> None:
    widgets.tell_answer(lives_curve.answer_sentence(shown))
    for name in ("frequency", "open"):
        found = shown.row(name)
        if found is not None:
            st.markdown(str(found["sentence"]))
    contradicted = shown.row("contradicted")
    if contradicted is not None:
        st.warning(str(contradicted["sentence"]))
    lives_curve.tell_reach(shown)
    lives_curve.show_curve(shown)
    lives_curve.show_ages(shown)
    lives_curve.show_shares(shown)
    lives_laws.show_laws(shown)


def _tell_left_out(shown: Shown) -> None:
    more = shown.answer.more
    n_open, n_estimated = (
        text.count(count(more, name)) for name in ("n_open", "n_estimated_start")
    )
    sentences = [
        shown.answer.method,
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
    sentences += cast("list[str]", more["not_counted"])
    left_out = widgets.left_out_words(cast("dict[str, int]", more["left_out"]))
    sentences += [f"Left out: {phrase}." for phrase in left_out]
    widgets.tell_left_out(sentences)


widgets.show_page("How long do units last before the first failure?", body)
