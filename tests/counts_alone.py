"""Publishing thousands of units for tests that ask neither watch nor suggester.

These two take nine tenths of the time that a fleet of some thousand units takes.
Everything else is counted as always; `tests/truth/test_labels_backed.py` publishes a
fleet of that size whole.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from unittest import mock

from analytics.rollup import training, watching

NEVER_ENOUGH = 1_000_000_000
CASES_LEARNT = 100


@contextmanager
def counts_alone() -> Iterator[None]:
    """Let `publish` watch no fleet, and learn from the newest hundred cases."""
    with (
        mock.patch.object(watching, "FEWEST_FAILURES", NEVER_ENOUGH),
        mock.patch.object(training, "MOST_CASES", CASES_LEARNT),
    ):
        yield
