"""Route: the earlier cases behind the count beside a suggested mode."""

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import JSONResponse

from dashboard.api.answers import CurrentSnapshot, Document, PlaceInUse, as_json
from dashboard.queries.intake import AT_THE_BENCH, Intake
from dashboard.queries.like_cases import like_cases

router = APIRouter()


class LikeQuestion(Intake):
    """The words of `suggest`, and the mode asked about."""

    mode: str


@router.get("/suggest/like", response_model=Document)
def get_like(
    snapshot: CurrentSnapshot,
    place: PlaceInUse,
    question: Annotated[LikeQuestion, Query()],
) -> JSONResponse:
    """Return the confirmed cases of a mode that are like a return, newest first.

    What was read at the bench is not looked at; an answer beside it is never kept by a
    cache.
    """
    found = like_cases(snapshot, question, question.mode, settings=place.settings())
    answer = as_json(found)
    if any(getattr(question, name) for name in AT_THE_BENCH):
        answer.headers["Cache-Control"] = "no-store"
    return answer
