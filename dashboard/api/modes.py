"""Route: which failure modes were confirmed, and how often."""

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import JSONResponse

from dashboard.api.answers import CurrentSnapshot, Document, as_json
from dashboard.filters import Filters
from dashboard.queries.modes import modes

router = APIRouter()


@router.get("/modes", response_model=Document)
def get_modes(
    snapshot: CurrentSnapshot, filters: Annotated[Filters, Query()]
) -> JSONResponse:
    """Return which failure modes were confirmed, and how often."""
    return as_json(modes(snapshot, filters))
