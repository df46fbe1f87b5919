"""Pieces of a mapping file as text: quoted words, and comments."""

import json

DELETE = "\x7f"


def can_be_written(text: str) -> bool:
    """Say whether TOML can hold a text: halves of a pair of UTF-16 it cannot."""
    return not any("\ud800" <= sign <= "\udfff" for sign in text)


def quoted(text: str) -> str:
    """Return a text between quotes, as TOML reads it."""
    # JSON escapes what TOML wants escaped, but for the delete sign.
    return json.dumps(text, ensure_ascii=False).replace(DELETE, "\\u007f")


def comment(text: str) -> str:
    """Return a text as one line of a comment; signs that do not print are shown."""
    shown = "".join(
        sign if sign.isprintable() else sign.encode("unicode_escape").decode()
        for sign in text
    )
    return f"# {shown}"
