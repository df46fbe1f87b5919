"""Work that is killed in the middle, in a copied process, and what it had said."""

import datetime as dt
import time
from collections.abc import Callable
from multiprocessing import Pipe
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path

from analytics.rollup.publish import publish
from ingest.pipeline import ingest_paths
from tests import forked

WAIT_S = 120
BEGUN = "begun"


def ingest(say: Connection, store: Path, files: list[Path]) -> None:
    """Take files in, one by one, and say which are stored."""
    say.send(BEGUN)
    for file in files:
        ingest_paths(store, [file])
        say.send(str(file))


def publish_for(say: Connection, folder: Path, day: dt.date) -> None:
    """Publish the figures of a day, and say what they are called."""
    say.send(BEGUN)
    made = publish(folder / "store.duckdb", folder / "published", as_of=day)
    say.send(made.snapshot)


def killed_after(seconds: float, work: Callable[..., None], *args: object) -> list[str]:
    """Do work, kill it so long after it has begun, and return what it had said."""
    process, told = _begun(work, *args)
    time.sleep(seconds)
    process.kill()
    process.join()
    return list(_rest(told))


def seconds_of(work: Callable[..., None], *args: object) -> float:
    """Do work to its end, and return how long that took."""
    process, _ = _begun(work, *args)
    begun = time.monotonic()
    process.join(WAIT_S)
    assert process.exitcode == 0
    return time.monotonic() - begun


def _begun(work: Callable[..., None], *args: object) -> tuple[BaseProcess, Connection]:
    told, say = Pipe(duplex=False)
    process = forked.process(work, say, *args)
    process.start()
    say.close()  # the process has its own: told ends with it
    assert told.recv() == BEGUN
    return process, told


def _rest(told: Connection) -> list[str]:
    said = []
    try:
        while True:
            said.append(told.recv())
    except EOFError:
        return said
