"""Route: what a return is likely to have, and what to check first."""

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import JSONResponse

from dashboard.api.answers import CurrentSnapshot, Document, PlaceInUse, as_json
from dashboard.queries.suggest import AT_THE_BENCH, Intake, suggest

router = APIRouter()


@router.get("/suggest", response_model=Document)
def get_suggest(
    snapshot: CurrentSnapshot, place: PlaceInUse, intake: Annotated[Intake, Query()]
) -> JSONResponse:
    """Return what a return is likely to have, and what to check first.

    Advice, never a verdict. Readings, and what else was seen or said of the one unit on
    the bench, belong to it: an answer to them is never kept by a cache.
    """
    answer = as_json(suggest(snapshot, intake, settings=place.settings()))
    if any(getattr(intake, name) for name in AT_THE_BENCH):
        answer.headers["Cache-Control"] = "no-store"
    return answer
