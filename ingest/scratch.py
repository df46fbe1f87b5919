"""A folder for files that are unpacked, gone afterwards even if the process was killed.

What is unpacked holds records. A process that is killed cannot remove it, so the next
one does: a folder whose lock nobody holds is left over.
"""

import fcntl
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

PREFIX = "mendfleet-"
LOCK = "in use"


@contextmanager
def scratch_folder() -> Iterator[Path]:
    """Yield an empty folder, and remove those that killed processes left."""
    _remove_left_over(Path(tempfile.gettempdir()))
    with tempfile.TemporaryDirectory(prefix=PREFIX) as name:
        own = Path(name)
        # Under its name only when it is locked: else another could take it for left.
        lock = own / "new"
        with lock.open("w") as held:
            fcntl.flock(held, fcntl.LOCK_EX)
            lock.rename(own / LOCK)
            files = own / "files"
            files.mkdir()
            yield files


def _remove_left_over(parent: Path) -> None:
    for lock in parent.glob(f"{PREFIX}*/{LOCK}"):
        try:
            with lock.open("r+") as left:
                fcntl.flock(left, fcntl.LOCK_EX | fcntl.LOCK_NB)
                shutil.rmtree(lock.parent)
        except OSError:  # in use, or of another user
            continue
