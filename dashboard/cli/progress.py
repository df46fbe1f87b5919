"""A progress bar on stderr for whatever takes over a second."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import (
    BarColumn,
    Progress,
    ProgressColumn,
    Task,
    TextColumn,
    TimeElapsedColumn,
)
from rich.text import Text

Tell = Callable[[str, int, int | None], None]


class _Speed(ProgressColumn):
    """How many things are done, and how many in a second."""

    def __init__(self, unit: str) -> None:
        super().__init__()
        self._unit = unit

    def render(self, task: Task) -> Text:
        """Return the words of this column."""
        per_second = f", {task.speed:,.0f}/s" if task.speed else ""
        return Text(f"{task.completed:,.0f} {self._unit}{per_second}")


@contextmanager
def progress_bar(*, unit: str | None = None) -> Iterator[Tell]:
    """Yield a function (words, done, total or None) that moves a bar on stderr.

    With a unit the bar says how many are done and how many a second. Where stderr is
    no terminal nothing is drawn.
    """
    columns: list[ProgressColumn] = [
        TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn()
    ]  # fmt: skip
    if unit:
        columns.append(_Speed(unit))
    console = Console(stderr=True)
    with Progress(
        *columns, console=console, transient=True, disable=not console.is_terminal
    ) as bar:
        task = bar.add_task("", total=None)
        last = ""

        def tell(label: str, done: int, total: int | None) -> None:
            nonlocal last
            if label != last:  # the next file begins at nothing
                bar.reset(task, total=total)
                last = label
            bar.update(task, description=label, completed=done, total=total)

        yield tell
