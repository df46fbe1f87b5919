"""Route: a table as a file, with where it comes from in every row."""

from http import HTTPStatus
from typing import Annotated, Literal

from fastapi import APIRouter, Query
from fastapi.responses import Response

from dashboard import exports
from dashboard.api.answers import PlaceInUse
from dashboard.api.problems import documented
from dashboard.filters import Filters
from dashboard.queries.life_words import LifeWords
from dashboard.queries.tables import table as table_of

router = APIRouter()

MEDIA_TYPES = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "parquet": "application/vnd.apache.parquet",
    "json": "application/json",
}


class ExportQuestion(Filters, LifeWords):
    """The filters, the words of tables about lives, an alarm, and the kind of file."""

    alarm: str | None = None
    format: Literal["csv", "xlsx", "parquet", "json"] = "csv"
    dialect: Literal["comma", "semicolon"] = "comma"

    def filters(self) -> Filters:
        """Return the filters alone."""
        others = {*LifeWords.model_fields, "alarm", "format", "dialect"}
        return Filters.model_validate(self.model_dump(exclude=others))

    def words(self) -> LifeWords:
        """Return the words of tables about lives alone."""
        return LifeWords.model_validate(
            self.model_dump(include=set(LifeWords.model_fields))
        )


@router.get(
    "/export/{table}",
    response_class=Response,
    responses={
        200: {
            "description": "The table as a file.",
            "content": {name: {} for name in MEDIA_TYPES.values()},
        },
        **documented(HTTPStatus.NOT_FOUND, HTTPStatus.CONFLICT),
    },
)
def get_export(
    place: PlaceInUse, table: str, question: Annotated[ExportQuestion, Query()]
) -> Response:
    """Return exactly what the pages show, as CSV, XLSX, Parquet or JSON."""
    answer = table_of(
        place, table, question.filters(), question.words(), alarm=question.alarm
    )
    makers = {
        "xlsx": exports.as_xlsx,
        "parquet": exports.as_parquet,
        "json": exports.as_json,
    }
    content = (
        exports.as_csv(answer, dialect=question.dialect)
        if question.format == "csv"
        else makers[question.format](answer)
    )
    return Response(
        content,
        media_type=MEDIA_TYPES[question.format],
        headers={
            "Content-Disposition": f'attachment; filename="{table}.{question.format}"'
        },
    )
