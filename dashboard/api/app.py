"""The HTTP API: reading only, the same answers as pages and commands."""

from http import HTTPStatus
from importlib.metadata import version

from fastapi import FastAPI

from dashboard.api import (
    cases,
    export,
    life,
    modes,
    problems,
    quality,
    rejected,
    suggest,
    suggestions,
    today,
    units,
    watch,
)

PREFIX = "/api/v1"

# The pages of documentation that FastAPI can serve fetch their scripts from elsewhere.
api = FastAPI(
    title="mendfleet",
    version=version("mendfleet"),
    summary="What fails in returned AC chargers, how long they last, what to check.",
    servers=[{"url": PREFIX}],
    docs_url=None,
    redoc_url=None,
    responses=problems.documented(
        HTTPStatus.UNPROCESSABLE_ENTITY, HTTPStatus.SERVICE_UNAVAILABLE
    ),
)
problems.register(api)
for module in (
    today,
    modes,
    watch,
    life,
    suggest,
    quality,
    suggestions,
    rejected,
    cases,
    units,
    export,
):
    api.include_router(module.router)
