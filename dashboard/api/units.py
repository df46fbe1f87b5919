"""Route: one unit."""

from http import HTTPStatus

from fastapi import APIRouter
from fastapi.responses import JSONResponse

from dashboard.api.answers import Document, PlaceInUse, as_json
from dashboard.api.problems import documented
from dashboard.queries.history import unit

router = APIRouter()


@router.get(
    "/units/{serial:path}",
    response_model=Document,
    responses=documented(HTTPStatus.NOT_FOUND),
)
def get_unit(place: PlaceInUse, serial: str) -> JSONResponse:
    """Return everything the store holds about one unit, with its warranty."""
    return as_json(unit(place, serial))
