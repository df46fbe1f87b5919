"""Route: what needs attention today."""

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import JSONResponse

from dashboard.api.answers import Document, PlaceInUse, as_json
from dashboard.filters import Filters
from dashboard.queries.today import today

router = APIRouter()


@router.get("/today", response_model=Document)
def get_today(place: PlaceInUse, filters: Annotated[Filters, Query()]) -> JSONResponse:
    """Return critical cases, open work by age, new alarms and what changed."""
    return as_json(today(place, filters))
