"""Route: how good the suggestions are."""

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import JSONResponse

from dashboard.api.answers import CurrentSnapshot, Document, as_json
from dashboard.filters import Filters
from dashboard.queries.suggestion_report import suggestion_report

router = APIRouter()


@router.get("/suggestions", response_model=Document)
def get_suggestions(
    snapshot: CurrentSnapshot, filters: Annotated[Filters, Query()]
) -> JSONResponse:
    """Return how often suggestions were right, on cases they had not seen."""
    return as_json(suggestion_report(snapshot, filters))
