"""Thresholds of several families, set on the alarms left after joining."""

import math
from collections import defaultdict
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analytics.statistics.alarm_groups import LOOKS_BACK, join_alarms
from analytics.statistics.quiet_fleet import Numbers
from analytics.statistics.watch_simulation import (
    LEAST_THRESHOLD,
    Cells,
    Simulation,
    first_crossings,
    largest_by_column,
    threshold_at,
)
from analytics.statistics.watch_windows import evidence_at

N_ROUNDS = 6
CLOSE = 0.03  # of the alarms allowed
MOST_FACTOR = 4  # more alarms than allowed before joining


class _Alarm(NamedTuple):
    family: int
    column: int
    look: int
    evidence: float
    cases: frozenset[int]


class MergedWatch:
    """Simulated fleets under watch in all families at once, block by block."""

    def __init__(
        self,
        first: NDArray[np.intp],
        strata: list[NDArray[np.int32]],
        n_strata: list[int],
        simulations: list[Simulation],
    ) -> None:
        """Take over where each replicate's looks start, and failures by family."""
        self._first = first
        self._strata = strata
        self._n_strata = n_strata
        self._simulations = simulations
        self._n_looks = len(simulations[0].sums.n_here)
        self._recent: dict[int, list[_Alarm]] = defaultdict(list)

    def set_thresholds(
        self, first: int, last: int, rank: int
    ) -> tuple[list[float], list[Numbers]]:
        """Set thresholds for looks first to last - 1, and let alarms restart.

        Each family is to found `rank` groups of alarms over all replicates. Returned
        are the thresholds, and each family's largest evidence by column, descending.
        """
        cells = [one.cells(first, last) for one in self._simulations]
        largest = [largest_by_column(one)[1] for one in cells]
        known: dict[tuple[int, int, int], frozenset[int]] = {}
        ranks = np.full(len(cells), float(rank))
        best: tuple[list[float], dict[int, list[_Alarm]]] = ([], {})
        best_away = math.inf
        for turn in range(N_ROUNDS):
            levels = [
                threshold_at(own, round(n))
                for own, n in zip(largest, ranks, strict=True)
            ]
            alarms = self._alarms(cells, levels, known)
            founded = self._founded(alarms)
            away = float(np.abs(founded - rank).sum())
            if away < best_away:
                best_away, best = away, (levels, alarms)
            is_least = np.array(levels) <= LEAST_THRESHOLD
            if np.all(is_least | (np.abs(founded - rank) <= max(1, CLOSE * rank))):
                break
            # Families that are nearly the same take groups from each other: after the
            # first they move half the way only, and the best turn is kept.
            step = (rank / np.maximum(founded, 1)) ** (1.0 if turn == 0 else 0.5)
            ranks = np.clip(ranks * step, rank, MOST_FACTOR * rank)
        levels, alarms = best
        self._record(alarms, last)
        return levels, largest

    def _alarms(
        self,
        cells: list[Cells],
        levels: list[float],
        known: dict[tuple[int, int, int], frozenset[int]],
    ) -> dict[int, list[_Alarm]]:
        """Return the alarms at these thresholds, by replicate."""
        found: dict[int, list[_Alarm]] = defaultdict(list)
        for family, (own, level) in enumerate(zip(cells, levels, strict=True)):
            simulation = self._simulations[family]
            look, column, evidence = first_crossings(own, level)
            restart = simulation.restart[column]
            _, window = evidence_at(simulation.sums, look, column, restart)
            start = np.maximum(np.maximum(look + 1 - window, restart), 0)
            for place, at in enumerate(column):
                key = (family, int(at), int(look[place]))
                if key not in known:
                    known[key] = self._cases(family, key[1], int(start[place]), key[2])
                found[key[1] // self._n_strata[family]].append(
                    _Alarm(*key, float(evidence[place]), known[key])
                )
        return found

    def _cases(self, family: int, column: int, start: int, look: int) -> frozenset[int]:
        replicate, stratum = divmod(column, self._n_strata[family])
        low = self._first[replicate * self._n_looks + start]
        high = self._first[replicate * self._n_looks + look + 1]
        here = np.flatnonzero(self._strata[family][low:high] == stratum)
        return frozenset((here + low).tolist())

    def _founded(self, alarms: dict[int, list[_Alarm]]) -> NDArray[np.int64]:
        """Return how many groups each family founds."""
        founded = np.zeros(len(self._simulations), dtype=np.int64)
        for replicate, own in alarms.items():
            before = self._recent[replicate]
            if len(own) + len(before) == 1:
                founded[own[0].family] += 1
                continue
            both = before + own
            groups = join_alarms(
                [one.look for one in both],
                [one.evidence for one in both],
                [one.cases for one in both],
            )
            for place in range(len(before), len(both)):
                founded[both[place].family] += groups[place] == place
        return founded

    def _record(self, alarms: dict[int, list[_Alarm]], last: int) -> None:
        for family, simulation in enumerate(self._simulations):
            own = [
                one for some in alarms.values() for one in some if one.family == family
            ]
            simulation.alarm(
                np.array([one.look for one in own], dtype=np.intp),
                np.array([one.column for one in own], dtype=np.intp),
            )
        kept: dict[int, list[_Alarm]] = defaultdict(list)
        for replicate in self._recent.keys() | alarms.keys():
            both = self._recent.get(replicate, []) + alarms.get(replicate, [])
            kept[replicate] = [one for one in both if one.look + LOOKS_BACK >= last]
        self._recent = kept
