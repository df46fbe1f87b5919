"""Routes: the returns under the filters, and one return."""

from http import HTTPStatus
from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import JSONResponse

from dashboard.api.answers import CurrentSnapshot, Document, PlaceInUse, as_json
from dashboard.api.problems import documented
from dashboard.filters import Filters
from dashboard.queries.history import case
from dashboard.queries.listings import cases

router = APIRouter()


@router.get("/cases", response_model=Document)
def get_cases(
    snapshot: CurrentSnapshot, filters: Annotated[Filters, Query()]
) -> JSONResponse:
    """Return the cases under the filters, newest first."""
    return as_json(cases(snapshot, filters))


# The workshop's own number may hold a slash.
@router.get(
    "/cases/{case_id:path}",
    response_model=Document,
    responses=documented(HTTPStatus.NOT_FOUND),
)
def get_case(place: PlaceInUse, case_id: str) -> JSONResponse:
    """Return everything the store holds about one case."""
    return as_json(case(place, case_id))
