"""Routes: what a return is likely to have, and the earlier cases that are like it."""

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import JSONResponse

from dashboard.api.answers import CurrentSnapshot, Document, PlaceInUse, as_json
from dashboard.queries.answer import Answer
from dashboard.queries.like_cases import like_cases
from dashboard.queries.suggest import AT_THE_BENCH, Intake, suggest

router = APIRouter()


class LikeQuestion(Intake):
    """The words of `suggest`, and the mode asked about."""

    mode: str


@router.get("/suggest", response_model=Document)
def get_suggest(
    snapshot: CurrentSnapshot, place: PlaceInUse, intake: Annotated[Intake, Query()]
) -> JSONResponse:
    """Return what a return is likely to have, and what to check first.

    Advice, never a verdict. Readings, and what else was seen or said of the one unit on
    the bench, belong to it: an answer to them is never kept by a cache.
    """
    return _response(suggest(snapshot, intake, settings=place.settings()), intake)


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
    return _response(found, question)


def _response(found: Answer, intake: Intake) -> JSONResponse:
    answer = as_json(found)
    if any(getattr(intake, name) for name in AT_THE_BENCH):
        answer.headers["Cache-Control"] = "no-store"
    return answer
