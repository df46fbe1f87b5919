"""Which figures a browser was shown before: so that pages can say what is new to it.

A cookie holds the ids of the figures shown now and of those shown before them, nothing
of a person. It is sent to this server alone, and pages without it only say less.
"""

import re
from http.cookies import SimpleCookie
from typing import Any

from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from analytics.rollup.snapshot import pointed_to
from dashboard.place import place_in_use

COOKIE = "mendfleet_seen"
BETWEEN = "."
ID = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}-[0-9a-f]{1,64}")
YEAR_S = 365 * 24 * 3600


def shown_before(cookie: str | None, current: str) -> str | None:
    """Return the figures that a browser was shown before the current ones.

    Parameters
    ----------
    cookie : str or None
        What it sent.
    current : str
        Id of the figures shown now; they may be newer than what the cookie holds.

    Returns
    -------
    str or None
        None at a first visit, or if what it sent is not ours.
    """
    now, before = _read(cookie)
    return before if now == current else now


def _read(cookie: str | None) -> tuple[str | None, str | None]:
    now, _, before = (cookie or "").partition(BETWEEN)
    return (
        now if ID.fullmatch(now) else None,
        before if ID.fullmatch(before) else None,
    )


def noted(cookie: str | None, current: str) -> str | None:
    """Return what the cookie is to hold from now on; None if it holds that already."""
    if _read(cookie)[0] == current:
        return None
    return f"{current}{BETWEEN}{shown_before(cookie, current) or ''}"


class NoteVisit:
    """Notes in a browser which figures it is shown, with each page that it loads."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on; add the cookie to the answer if it is a page."""
        value = _to_note(scope)
        if value is None:
            await self._app(scope, receive, send)
            return

        async def send_noted(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message["headers"], _header(value)]
            await send(message)

        await self._app(scope, receive, send_noted)


def _to_note(scope: Scope) -> str | None:
    if scope["type"] != "http" or scope["method"] != "GET":
        return None
    request = Request(scope)
    if "text/html" not in request.headers.get("accept", ""):
        return None
    current = pointed_to(place_in_use().published)
    return noted(request.cookies.get(COOKIE), current) if current else None


def _header(value: str) -> tuple[bytes, bytes]:
    cookie: SimpleCookie = SimpleCookie()
    cookie[COOKIE] = value
    marks: dict[str, Any] = {
        "path": "/",
        "max-age": YEAR_S,
        "samesite": "Strict",
        "httponly": True,
    }
    cookie[COOKIE].update(marks)
    return b"set-cookie", cookie[COOKIE].OutputString().encode("latin-1")
