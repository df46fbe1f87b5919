"""What every report route answers with: one JSON document."""

import datetime as dt
from typing import Annotated, Any

from fastapi import Depends
from fastapi.responses import JSONResponse
from pydantic import BaseModel, ConfigDict, Field

from analytics.rollup.snapshot import Snapshot, current_snapshot
from dashboard.place import place_in_use
from dashboard.queries.answer import Answer
from dashboard.settings import Place


class Document(BaseModel):
    """An answer; further keys as the question needs them."""

    model_config = ConfigDict(extra="allow")

    snapshot: str | None = Field(
        description="Id of the figures; null: read from the store itself."
    )
    as_of: dt.date | None = Field(description="Last day the figures speak for.")
    filters: dict[str, Any] = Field(description="The filters in use.")
    method: str = Field(description="How the numbers were made.")
    data: str = Field(description="`records` or `invented data`.")
    rows: list[dict[str, Any]]


PlaceInUse = Annotated[Place, Depends(place_in_use)]


def _snapshot(place: PlaceInUse) -> Snapshot:
    return current_snapshot(place.published)


CurrentSnapshot = Annotated[Snapshot, Depends(_snapshot)]


def as_json(answer: Answer) -> JSONResponse:
    """Return the answer as the same document that `--json` prints."""
    return JSONResponse(answer.document())
