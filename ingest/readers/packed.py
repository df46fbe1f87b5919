"""Files inside `.gz` and `.zip`: unpacked to be read, and never more than fits."""

import gzip
import lzma
import re
import shutil
import struct
import tempfile
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from ingest.errors import FileError, UserError
from ingest.readers import READERS
from ingest.readers.source import is_absurd

BLOCK = 1 << 20
KEPT_FREE = 100_000_000  # bytes that stay free on the disk
MOST_FILES = 1000
SUFFIX = re.compile(r"\.[A-Za-z0-9]{1,10}")
# What gzip and zipfile raise on a file that is cut short or is something else.
BROKEN = (
    zipfile.BadZipFile, gzip.BadGzipFile, zlib.error, lzma.LZMAError, struct.error,
    EOFError, NotImplementedError, RuntimeError, ValueError, IndexError, OverflowError,
)  # fmt: skip


def unpacked(path: Path, folder: Path) -> list[tuple[str, Path]]:
    """Return the files that a file stands for, each with the name to show for it.

    A file that is not packed, and one that is missing or empty, stands for itself. Of
    a ZIP file every file is returned, also one that `read` will refuse.

    Parameters
    ----------
    path : pathlib.Path
    folder : pathlib.Path
        Takes the unpacked files; the caller makes it and removes it.

    Raises
    ------
    FileError
        Broken, locked with a password, without a file in it, or too large.
    """
    unpack = {".gz": _gz, ".zip": _zip}.get(path.suffix.lower())
    try:
        if unpack is None or not path.is_file() or path.stat().st_size == 0:
            return [(str(path), path)]
        return list(unpack(path, folder))
    except BROKEN as error:
        raise _broken(path) from error
    except OSError as error:
        if error.errno is None:  # a decompressor's own, not the system's
            raise _broken(path) from error
        raise FileError(
            f"{path} cannot be unpacked: {error.strerror or error}.",
            hint="Look at its name and at who may read it, or unpack it yourself.",
        ) from None


def _broken(path: Path) -> FileError:
    return FileError(
        f"{path} is not a packed file that can be read.",
        hint="Pack it again as ZIP or GZIP, or ingest the files it was made of.",
    )


def _gz(path: Path, folder: Path) -> Iterator[tuple[str, Path]]:
    room = _Room(path, folder)
    with gzip.open(path) as packed:
        yield str(path), room.copy_of(packed.read, _suffix(path.stem))


def _zip(path: Path, folder: Path) -> Iterator[tuple[str, Path]]:
    room = _Room(path, folder)
    with zipfile.ZipFile(path) as archive:
        members = [member for member in archive.infolist() if _is_wanted(member)]
        _check_members(path, members)
        room.check(sum(m.file_size for m in members if _is_read(_suffix(m.filename))))
        for member in members:
            suffix = _suffix(member.filename)
            # A picture or a letter among them is refused by its suffix, not unpacked.
            copy = folder / f"not unpacked{suffix}"
            if _is_read(suffix):
                with archive.open(member) as packed:
                    copy = room.copy_of(packed.read, suffix)
            yield f"{path}/{_printable(member.filename)}", copy


def _is_wanted(member: zipfile.ZipInfo) -> bool:
    # Names that start so are a system's or an open spreadsheet's own.
    parts = member.filename.replace("\\", "/").split("/")
    return not member.is_dir() and not any(
        part.startswith((".", "~$", "__MACOSX")) and part not in {".", ".."}
        for part in parts
    )


def _check_members(path: Path, members: list[zipfile.ZipInfo]) -> None:
    if not members:
        raise FileError(
            f"{path} holds no file.", hint="Pack the files again, or ingest them as is."
        )
    if len(members) > MOST_FILES:
        raise FileError(
            f"{path} holds {len(members)} files; at most {MOST_FILES} are read.",
            hint="Unpack it and ingest the files in parts.",
        )
    for member in members:
        if member.flag_bits & 1:
            raise FileError(
                f"{path} is locked with a password, "
                f"at `{_printable(member.filename)}` at least.",
                hint="Unpack it with its password, then ingest the files.",
            )


def _suffix(name: str) -> str:
    # The name of the copy is ours, but for an ordinary suffix: it picks the reader.
    suffix = Path(name).suffix
    return suffix if SUFFIX.fullmatch(suffix) else ""


def _is_read(suffix: str) -> bool:
    return suffix.lower() in READERS


def _printable(name: str) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in name)


class _Room:
    """How much one packed file may still take."""

    def __init__(self, path: Path, folder: Path) -> None:
        self.path = path
        self.folder = folder
        self.n_packed = path.stat().st_size
        self.n_taken = 0

    def check(self, n_more: int) -> None:
        """Refuse content that is absurdly large, or that would fill the disk."""
        size = self.n_taken + n_more
        if is_absurd(self.n_packed, size):
            raise FileError(
                f"{self.path} has {self.n_packed} bytes and unpacks to {size} or more.",
                hint="That is no file of records; look at where it came from.",
            )
        if shutil.disk_usage(self.folder).free - n_more < KEPT_FREE:
            raise FileError(
                f"{self.path} does not fit on the disk of {self.folder} unpacked.",
                hint="Make room there, or unpack it on another disk and ingest that.",
            )

    def copy_of(self, read: Callable[[int], bytes], suffix: str) -> Path:
        with _new_file(self.folder, suffix) as (path, file):
            while block := read(BLOCK):
                self.check(len(block))
                file.write(block)
                self.n_taken += len(block)
        return path


@contextmanager
def _new_file(folder: Path, suffix: str) -> Iterator[tuple[Path, IO[bytes]]]:
    with tempfile.NamedTemporaryFile(dir=folder, suffix=suffix, delete=False) as file:
        path = Path(file.name)
        try:
            yield path, file
        except (UserError, OSError, *BROKEN):
            # The next file of the call may need the room.
            path.unlink()
            raise
