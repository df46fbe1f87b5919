"""Commands for people who record: templates and the data dictionary."""

import typer


def register(cli: typer.Typer) -> None:
    """Add the commands of this module."""
