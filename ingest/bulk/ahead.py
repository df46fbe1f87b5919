"""Work done some steps ahead, in a thread of its own."""

from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

T = TypeVar("T")
DEPTH = 4  # enough for a thread that works in bursts


def ahead(items: Iterable[T]) -> Iterator[T]:
    """Yield the items in order; while one is used the next few are made.

    An error in making one is raised when its turn comes.
    """
    end = object()
    steps = iter(items)
    with ThreadPoolExecutor(max_workers=1) as pool:
        made = deque(pool.submit(next, steps, end) for _ in range(DEPTH))
        while (item := made.popleft().result()) is not end:
            made.append(pool.submit(next, steps, end))
            yield item  # type: ignore[misc]  # it is not `end`
