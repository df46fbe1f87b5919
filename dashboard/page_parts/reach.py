"""The few rules of style that the theme of the page server has no word for.

Each stands with what would be wrong without it; a browser test measures that it works.
"""

import streamlit as st

from dashboard.drawing.charts import OBSERVED

# The page server writes the chosen values of a list white on the colour of what is
# chosen: 2.3 to 1 where that colour is light enough to be read in the dark.
CHOSEN = f"""
[data-testid="stMultiSelectTagsContainer"] [data-tag] {{
  background: {OBSERVED}; color: white;
}}
"""

# Hands in gloves need 44 pixels. Everything of the page server is as tall as its
# letters are: from 18 pixels on a button has them. Chips and the small handles of the
# fields stay below.
GLOVES = """
html { font-size: 18px; }
[data-testid="stButtonGroup"] button,
[data-testid="stMultiSelectTagsContainer"] [data-tag] button,
[data-testid="stExpander"] summary,
[data-testid="stPageLink"] a,
[data-testid="stTopNavLink"] { min-height: 44px; }
[data-testid="stNumberInputStepDown"], [data-testid="stNumberInputStepUp"],
[data-testid="stSelectbox"] button, [data-testid="stMultiSelect"] button {
  min-width: 44px;
}
[data-testid="stMultiSelectTagsContainer"] [data-tag] { min-height: 44px; }
"""

# What bars mains is never scrolled away: the two areas of the bench are longer than a
# tablet. A background of its own, as what passes beneath would shine through; and room
# above what the keyboard reaches, so that it never lies under the caution. On a small
# window, or one enlarged much, it would cover the work, and stands still.
ALWAYS = """
@media (min-width: 640px) and (min-height: 700px) {
  [data-testid="stLayoutWrapper"]:has(> .st-key-caution) {
    position: sticky; top: 3.75rem; z-index: 90;
    background: light-dark(white, #171614);
  }
  [data-testid="stMain"] { scroll-padding-top: 11rem; }
}
"""


def make_readable() -> None:
    """Let chosen values of a list be read in the dark too."""
    st.html(f"<style>{CHOSEN}</style>")


def make_room_for_gloves() -> None:
    """Let everything that is touched on the page be 44 pixels tall."""
    st.html(f"<style>{GLOVES}</style>")


def tell_always(words: str) -> None:
    """Show a caution that stays in view while the page is scrolled."""
    st.html(f"<style>{ALWAYS}</style>")
    with st.container(key="caution"):
        st.warning(words)
