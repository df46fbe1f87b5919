"""Errors as `application/problem+json` (RFC 9457), the same for every route."""

from collections.abc import Mapping
from http import HTTPStatus
from typing import Any, cast

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse

from analytics.errors import InsufficientDataError
from ingest.errors import UserError

MEDIA_TYPE = "application/problem+json"
# A publish takes seconds, a large ingest minutes.
RETRY_AFTER_SECONDS = 60


class Problem(BaseModel):
    """What went wrong, and what to do next."""

    title: str = Field(description="The HTTP status in words.")
    status: int
    detail: str = Field(description="What happened, where, and the value that did it.")
    hint: str = Field(description="What to do next.")
    needed: int | None = Field(None, description="How many would be enough.")
    found: int | None = Field(None, description="How many there are.")


def documented(*statuses: HTTPStatus) -> dict[int | str, dict[str, Any]]:
    """Return the answers of these statuses for the OpenAPI description."""
    return {
        int(status): {
            "description": status.phrase,
            "content": {MEDIA_TYPE: {"schema": Problem.model_json_schema()}},
        }
        for status in statuses
    }


def response(
    status: int, detail: str, hint: str, *, more: Mapping[str, int] | None = None
) -> JSONResponse:
    """Return a problem as a response; 503 says when to try again."""
    problem = Problem(
        title=HTTPStatus(status).phrase,
        status=status,
        detail=detail,
        hint=hint,
        **(more or {}),
    )
    is_later = status == HTTPStatus.SERVICE_UNAVAILABLE
    return JSONResponse(
        problem.model_dump(exclude_none=True),
        status_code=status,
        media_type=MEDIA_TYPE,
        headers={"Retry-After": str(RETRY_AFTER_SECONDS)} if is_later else None,
    )


def register(api: FastAPI) -> None:
    """Answer every error of the routes with a problem."""
    api.add_exception_handler(UserError, _of_user)
    api.add_exception_handler(InsufficientDataError, _of_data)
    api.add_exception_handler(RequestValidationError, _of_request)
    api.add_exception_handler(HTTPException, _of_address)
    api.add_exception_handler(Exception, _of_program)


def no_such_route(request: Request) -> JSONResponse:
    """Answer an address that no route has."""
    return response(
        HTTPStatus.NOT_FOUND,
        f"There is no route {request.url.path}.",
        "/api/v1/openapi.json names every route.",
    )


# Starlette types handlers by Exception, and calls each with its own class only.


def _of_user(_: Request, error: Exception) -> JSONResponse:
    known = cast("UserError", error)
    return response(known.http_status, known.message, known.hint)


def _of_data(_: Request, error: Exception) -> JSONResponse:
    known = cast("InsufficientDataError", error)
    return response(
        known.http_status,
        f"The data cannot answer yet: {known}.",
        known.hint,
        more={"needed": known.needed, "found": known.found},
    )


def _of_request(_: Request, error: Exception) -> JSONResponse:
    known = cast("RequestValidationError", error)
    parts = [
        ": ".join([*(str(part) for part in item["loc"][1:]), item["msg"]])
        for item in known.errors()
    ]
    return response(
        HTTPStatus.UNPROCESSABLE_ENTITY,
        "; ".join(parts),
        "Correct the words named, or leave them out; /api/v1/openapi.json names all.",
    )


def _of_address(request: Request, error: Exception) -> JSONResponse:
    known = cast("HTTPException", error)
    if known.status_code == HTTPStatus.NOT_FOUND:
        return no_such_route(request)
    found = response(
        known.status_code,
        f"{request.method} {request.url.path}: {known.detail}.",
        "/api/v1/openapi.json names every route and what it takes.",
    )
    found.headers.update(known.headers or {})
    return found


def _of_program(request: Request, _: Exception) -> JSONResponse:
    return response(
        HTTPStatus.INTERNAL_SERVER_ERROR,
        f"The program failed at {request.method} {request.url.path}; nothing was "
        "stored or lost.",
        "Report it with the lines that the server wrote.",
    )
