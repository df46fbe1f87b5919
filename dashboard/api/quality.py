"""Route: what happened to the rows of every file."""

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import JSONResponse

from dashboard.api.answers import CurrentSnapshot, Document, as_json
from dashboard.filters import Filters
from dashboard.queries.quality import quality

router = APIRouter()


@router.get("/quality", response_model=Document)
def get_quality(
    snapshot: CurrentSnapshot, filters: Annotated[Filters, Query()]
) -> JSONResponse:
    """Return what happened to the rows of every file, and what is left out."""
    return as_json(quality(snapshot, filters))
