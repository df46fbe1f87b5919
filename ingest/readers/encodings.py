"""The encoding of a text file, found by reading all of it once.

A file is UTF-8 (with or without BOM), UTF-16, or else Windows-1252. One that is UTF-8
in most rows stays UTF-8: the rows that are not are set aside, instead of turning every
other accent of the file into two wrong letters.
"""

import codecs
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TextIO

from ingest.errors import FileError

BLOCK = 1 << 20
SAMPLE = 64
HEAD = 4096  # enough to see whether a file is text
# How a byte that does not decode comes out: U+DC80 to U+DCFF in UTF-8 and
# Windows-1252, the replacement character in UTF-16.
ESCAPED = range(0xDC80, 0xDD00)
REPLACED = "\ufffd"


@dataclass(frozen=True, slots=True)
class Encoding:
    """How the bytes of a file become text."""

    name: str
    errors: str = "strict"

    @property
    def bare(self) -> str:
        """The name without the mark at the beginning of a file."""
        return self.name.removesuffix("-sig")

    @property
    def is_wide(self) -> bool:
        """Whether a line break takes more than one byte."""
        return self.name.startswith("utf-16")


def encoding_of(path: Path) -> Encoding:
    """Return how to decode a file, after reading all of it once.

    Raises
    ------
    FileError
        Its bytes are no text.
    """
    with path.open("rb") as file:
        head = file.read(HEAD)
    name = _announced(head)
    if name is None and b"\0" in head:
        name = _utf_16_without_bom(head)
        if name is None:
            raise FileError(
                f"{path} is not a text file.",
                hint="Export it as CSV, XLSX or Parquet, then ingest that file.",
            )
    name = name or "utf-8"
    if _decodes(path, name):
        return Encoding(name)
    if name.startswith("utf-16"):
        return Encoding(name, "replace")
    if _has_other_letters(path, name):
        return Encoding(name, "surrogateescape")
    if _decodes(path, "cp1252"):
        return Encoding("cp1252")
    return Encoding("cp1252", "surrogateescape")


def _announced(head: bytes) -> str | None:
    if head.startswith(codecs.BOM_UTF8):
        return "utf-8-sig"
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    return None


def _utf_16_without_bom(head: bytes) -> str | None:
    # Column names are mostly ASCII: in UTF-16 nearly every other byte is zero.
    zeros = [head[:SAMPLE][start::2].count(0) for start in (0, 1)]
    enough = len(head[:SAMPLE]) * 3 // 8
    if zeros[0] == 0 and zeros[1] >= enough:
        return "utf-16-le"
    if zeros[1] == 0 and zeros[0] >= enough:
        return "utf-16-be"
    return None


def _decodes(path: Path, name: str) -> bool:
    decoder = codecs.getincrementaldecoder(name)()
    ascii_stays = not name.startswith("utf-16")
    try:
        with path.open("rb") as file:
            while block := file.read(BLOCK):
                # Plain letters are the same in all but the wide encodings.
                if ascii_stays and block.isascii() and not decoder.getstate()[0]:
                    continue
                decoder.decode(block)
            decoder.decode(b"", final=True)
    except UnicodeError:
        return False
    return True


def _has_other_letters(path: Path, name: str) -> bool:
    for text in _texts(path, Encoding(name, "surrogateescape")):
        if not text.isascii() and any(
            not letter.isascii() and ord(letter) not in ESCAPED for letter in text
        ):
            return True
    return False


def _texts(path: Path, encoding: Encoding) -> Iterator[str]:
    with opened(path, encoding) as file:
        while text := file.read(BLOCK):
            yield text


@contextmanager
def opened(path: Path, encoding: Encoding) -> Iterator[TextIO]:
    """Open a text file; line breaks stay as they are."""
    with path.open(encoding=encoding.name, errors=encoding.errors, newline="") as file:
        yield file
