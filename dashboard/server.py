"""One process that serves the pages and the HTTP API on one port."""

import contextlib
import ipaddress
import signal
import socket
from pathlib import Path

import streamlit as st
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Mount, Route

from dashboard.api import problems
from dashboard.api.app import PREFIX, api
from dashboard.drawing.charts import OBSERVED
from dashboard.visits import NoteVisit
from ingest.errors import RefusedError

METHODS = ["GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"]
LARGEST_PORT = 65_535
# The title, the parts of a page, and what stands inside a part.
HEADINGS = ["2.75rem", "1.75rem", "1.5rem"]
INK = "#161616"  # its paler shade on white: 4.7 to 1 (WCAG 2.2 asks for 4.5)
CHOSEN_IN_THE_DARK = "#56B4E9"  # the light blue of the same palette


def _healthz(_: Request) -> Response:
    return PlainTextResponse("ok\n")


def _no_such_route(request: Request) -> Response:
    return problems.no_such_route(request)


# The API first: what no route takes, the page server answers with a page.
ROUTES = (
    Route("/healthz", _healthz),
    Mount(PREFIX, app=api),
    Route("/api/{rest:path}", _no_such_route, methods=METHODS),
)


def make_app() -> st.App:
    """Return the application: pages at `/`, the API under `/api/v1`."""
    return st.App(
        Path(__file__).with_name("app.py"),
        routes=ROUTES,
        middleware=[Middleware(NoteVisit)],
    )


def serve(host: str, port: int) -> None:
    """Serve pages and API until the process is told to end.

    Parameters
    ----------
    host : str
        An address of this machine only.
    port : int

    Raises
    ------
    RefusedError
        Another address than this machine's own, or a port that cannot be had.
    """
    check_address(host, port)
    # The server shuts down at SIGTERM and then raises it again: without this line
    # the process would end with a failure.
    signal.signal(signal.SIGTERM, lambda *_: None)
    make_app().run(
        config={
            "server.address": host,
            "server.port": port,
            "server.headless": True,
            "server.fileWatcherType": "none",
            "browser.gatherUsageStats": False,
            "browser.serverAddress": host,
            "client.toolbarMode": "minimal",
            "client.showErrorDetails": "none",
            "theme.headingFontSizes": HEADINGS,
            # What is chosen is blue: red would read as a fault.
            "theme.light.primaryColor": OBSERVED,
            # Grey lines are a paler shade of the text: this one keeps them readable.
            "theme.light.textColor": INK,
            "theme.dark.primaryColor": CHOSEN_IN_THE_DARK,
        }
    )


def check_address(host: str, port: int) -> None:
    """Refuse an address that others can reach, or a port that cannot be had.

    Raises
    ------
    RefusedError
        Says which of the two, and what to do.
    """
    _refuse_elsewhere(host)
    _refuse_busy(host, port)


def _refuse_elsewhere(host: str) -> None:
    with contextlib.suppress(ValueError):
        if ipaddress.ip_address(host).is_loopback:
            return
    if host == "localhost":
        return
    raise RefusedError(
        f"Serving on {host} would let anyone on the network read the records: this "
        "version knows no tokens.",
        hint="Leave --host out; to read from elsewhere, tunnel to this machine.",
    )


def _refuse_busy(host: str, port: int) -> None:
    if not 0 < port <= LARGEST_PORT:
        raise RefusedError(
            f"There is no port {port}.", hint=f"Name one from 1 to {LARGEST_PORT}."
        )
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as trial:
        # As the server does: a port whose last connection just ended is free.
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((host, port))
        except OSError as error:
            raise RefusedError(
                f"Port {port} on {host} cannot be had: {error.strerror}.",
                hint="Stop what uses it, or name another: "
                f"`mendfleet serve --port {port + 1}`.",
            ) from None
