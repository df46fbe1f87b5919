"""Routes: which failures recur more than they should, as a document and as a feed."""

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import JSONResponse, Response

from dashboard import atom
from dashboard.api.answers import Document, PlaceInUse, as_json
from dashboard.filters import Filters
from dashboard.queries.watch import watch
from dashboard.queries.watch_feed import watch_feed

router = APIRouter()


class WatchQuestion(Filters):
    """The filters, and whether only new alarms are asked for."""

    new: bool = False

    def filters(self) -> Filters:
        """Return the filters alone."""
        return Filters.model_validate(self.model_dump(exclude={"new"}))


@router.get("/watch", response_model=Document)
def get_watch(
    place: PlaceInUse, question: Annotated[WatchQuestion, Query()]
) -> JSONResponse:
    """Return the alarms that stand, in order of urgency; association, no verdict."""
    return as_json(watch(place, question.filters(), only_new=question.new))


@router.get(
    "/watch.atom",
    response_class=Response,
    responses={
        200: {
            "description": "An Atom feed (RFC 4287).",
            "content": {atom.MEDIA_TYPE: {}},
        }
    },
)
def get_watch_feed(
    place: PlaceInUse, filters: Annotated[Filters, Query()], request: Request
) -> Response:
    """Return the alarms, standing and past, as a feed for feed readers."""
    page = str(request.url.replace(path="/watch", query=""))
    feed = watch_feed(place, filters, page=page, own=str(request.url))
    return Response(atom.document(feed), media_type=atom.MEDIA_TYPE)
