"""The fault suggester that goes with published figures."""

from functools import lru_cache
from pathlib import Path

from analytics.advice.suggest import FaultSuggester
from ingest.errors import NotPublishedError


@lru_cache(maxsize=4)
def trained_suggester(folder: Path) -> FaultSuggester:
    """Return the suggester kept in a folder.

    Raises
    ------
    NotPublishedError
        It is missing, damaged or of another version.
    """
    try:
        return FaultSuggester.load(folder)
    except ValueError as error:
        raise NotPublishedError(
            f"The fault suggestion in {folder} cannot be used: {error}",
            hint="Run `mendfleet publish --train`.",
        ) from None
