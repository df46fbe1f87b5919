"""The command that serves pages and API."""

import os
from typing import Annotated

import typer

from dashboard import server
from dashboard.cli.options import place_of

PORT = 8501


def register(cli: typer.Typer) -> None:
    """Add the command of this module."""
    cli.command()(serve)


def serve(
    context: typer.Context,
    *,
    host: Annotated[str, typer.Option(help="Address to listen on.")] = "127.0.0.1",
    port: Annotated[int, typer.Option(help="Port to listen on.")] = PORT,
) -> None:
    r"""Serve the pages and the HTTP API until stopped with Ctrl-C.

    \b
    Example:
        mendfleet serve --port 8600
    """
    server.check_address(host, port)
    # Pages are run by the page server, which hands them no arguments.
    os.environ["MENDFLEET_DATA"] = str(place_of(context).data)
    typer.echo(
        f"Pages: http://{host}:{port}/  API: http://{host}:{port}/api/v1/", err=True
    )
    server.serve(host, port)
