"""Commands that look after the store: undo, forget, backup, restore, self-check."""

import typer


def register(cli: typer.Typer) -> None:
    """Add the commands of this module."""
