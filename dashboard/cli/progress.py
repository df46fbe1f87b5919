"""A progress bar on stderr for whatever takes over a second."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

Tell = Callable[[str, int, int | None], None]


@contextmanager
def progress_bar() -> Iterator[Tell]:
    """Yield a function (words, done, total or None) that moves a bar on stderr.

    Where stderr is no terminal nothing is drawn.
    """
    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    console = Console(stderr=True)
    with Progress(
        *columns, console=console, transient=True, disable=not console.is_terminal
    ) as bar:
        task = bar.add_task("", total=None)

        def tell(label: str, done: int, total: int | None) -> None:
            bar.update(task, description=label, completed=done, total=total)

        yield tell
