"""Keys that a file had before: told apart by a digest, and only then by the key."""

import numpy as np
from numpy.typing import NDArray

Digests = NDArray[np.uint64]
MOST_RUNS = 8


class SeenKeys:
    """Which rows may have a key that came before in the file; 8 bytes for each row.

    Two keys can have one digest: whoever asks looks at the keys of the few rows named.
    """

    def __init__(self) -> None:
        self._runs: list[Digests] = []

    def perhaps(self, digests: Digests) -> NDArray[np.bool_]:
        """Return for each row whether its key may have come before, or comes twice."""
        # In order, so that each search goes on where the last one ended.
        own, which, n_rows = np.unique(digests, return_inverse=True, return_counts=True)
        found: NDArray[np.bool_] = n_rows > 1
        for run in self._runs:
            places = np.searchsorted(run, own)
            places[places == len(run)] = 0
            found |= run[places] == own
        return found[which]

    def add(self, digests: Digests) -> None:
        """Remember the keys of rows."""
        if not len(digests):
            return
        self._runs.append(np.sort(digests))
        if len(self._runs) > MOST_RUNS:
            merged = np.concatenate(self._runs)
            merged.sort(kind="stable")
            self._runs = [merged]
