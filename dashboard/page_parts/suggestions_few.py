"""The report about suggestions while there is too little to score them."""

import streamlit as st

from analytics.errors import InsufficientDataError
from dashboard import text


def tell_too_few(error: InsufficientDataError) -> None:
    """Say what is missing to score suggestions, and what they rest on till then."""
    missing = text.count(error.needed - error.found)
    st.info(
        "How good the suggestions are is not known yet. Needed: at least "
        f"{text.count(error.needed)} {error.what}. Found: {text.count(error.found)}; "
        f"{missing} more would be enough."
    )
    st.markdown(
        "Till then the bench says with each suggestion how many cases are behind it; "
        "what has no cases yet comes from the expert table alone. Confirm each mode by "
        "its check, whatever its share."
    )
