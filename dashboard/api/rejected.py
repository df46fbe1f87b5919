"""Route: which rows were set aside, and why."""

from fastapi import APIRouter
from fastapi.responses import JSONResponse

from dashboard.api.answers import Document, PlaceInUse, as_json
from dashboard.queries.rejected import rejected

router = APIRouter()


@router.get("/rejected", response_model=Document)
def get_rejected(place: PlaceInUse) -> JSONResponse:
    """Return the rows set aside and not yet corrected, with the reasons."""
    return as_json(rejected(place))
