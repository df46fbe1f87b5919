"""Processes of their own that have loaded all libraries already.

A command started as a user starts it loads for three seconds before it does anything.
Here one process loads, once for all tests of a run, and is copied for each command or
piece of work; a copy has its own memory, files and limits, and can be killed.
"""

import multiprocessing
import os
import resource
import sys
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.process import BaseProcess
from pathlib import Path

LOADED = ["dashboard.cli.main"]
SECONDS = 300


@dataclass(frozen=True, slots=True)
class Done:
    """What a command left: as `subprocess.run` gives it."""

    returncode: int | None
    stdout: str
    stderr: str


def process(work: Callable[..., object], *args: object) -> BaseProcess:
    """Return a process that will do the work, which stands in a module of its own."""
    # Named here, as nobody else starts processes this way.
    multiprocessing.set_forkserver_preload(LOADED)
    return multiprocessing.get_context("forkserver").Process(target=work, args=args)


def command(folder: Path, *words: object, told: Path, limit: int | None = None) -> Done:
    """Run `mendfleet` on a data folder, its files no larger than `limit` bytes."""
    said = {name: told / name for name in ("stdout", "stderr")}
    given = ["mendfleet", "--data", str(folder), *map(str, words)]
    started = process(_command, given, said, limit)
    started.start()
    started.join(SECONDS)
    if started.is_alive():
        started.kill()
        started.join()
        raise AssertionError(f"{' '.join(given)} did not end in {SECONDS} s")
    texts = {name: file.read_text("utf-8") for name, file in said.items()}
    return Done(started.exitcode, **texts)


def _command(given: list[str], said: dict[str, Path], limit: int | None) -> None:
    for stream, name in ((1, "stdout"), (2, "stderr")):
        with said[name].open("wb") as out:
            os.dup2(out.fileno(), stream)
    sys.argv = given
    if limit:
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
    from dashboard.cli.main import main  # noqa: PLC0415 - loaded in the copied process

    main()
