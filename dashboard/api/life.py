"""Route: how long units last before their first confirmed failure."""

from http import HTTPStatus
from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import JSONResponse

from dashboard.api.answers import CurrentSnapshot, Document, as_json
from dashboard.api.problems import documented
from dashboard.filters import Filters
from dashboard.queries.life import life
from dashboard.queries.life_words import LifeWords

router = APIRouter()


class LifeQuestion(Filters, LifeWords):
    """The filters, and the words of the question."""

    def filters(self) -> Filters:
        """Return the filters alone."""
        return Filters.model_validate(
            self.model_dump(exclude=set(LifeWords.model_fields))
        )

    def words(self) -> LifeWords:
        """Return the words beside the filters."""
        return LifeWords.model_validate(
            self.model_dump(include=set(LifeWords.model_fields))
        )


@router.get("/life", response_model=Document, responses=documented(HTTPStatus.CONFLICT))
def get_life(
    snapshot: CurrentSnapshot, question: Annotated[LifeQuestion, Query()]
) -> JSONResponse:
    """Return how long units last before their first confirmed failure."""
    return as_json(life(snapshot, question.filters(), **question.words().asked()))
