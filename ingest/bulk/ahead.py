"""Work done one step ahead, in a thread of its own."""

from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

T = TypeVar("T")


def ahead(items: Iterable[T]) -> Iterator[T]:
    """Yield the items in order; while one is used the next is made.

    An error in making one is raised when its turn comes.
    """
    end = object()
    steps = iter(items)
    with ThreadPoolExecutor(max_workers=1) as pool:
        step = pool.submit(next, steps, end)
        while (item := step.result()) is not end:
            step = pool.submit(next, steps, end)
            yield item  # type: ignore[misc]  # it is not `end`
