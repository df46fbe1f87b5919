"""How many earlier cases of each cause look like a new one."""

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from analytics.advice.counting_blocks import CountingBlock, pieces
from analytics.advice.evidence import Evidence, Integers, incidence

# What was seen or reported on this unit; the rest is shared by half the fleet.
TELLING = ("sym", "find", "err")


@dataclass(frozen=True, slots=True)
class LikeCases:
    """Which labelled case carries which piece of evidence.

    `codes` are pairs (block, code), `carried` has one row per labelled case and one
    column per pair, `cause` the index of the cause of each case.
    """

    codes: tuple[tuple[str, str], ...]
    carried: sparse.csr_array[np.float64]
    cause: Integers

    def count(self, blocks: tuple[CountingBlock, ...], given: Evidence) -> Integers:
        """Count per cause the cases that share a piece of evidence with one case.

        A case counts once, however much it shares. Pieces are reported symptoms,
        findings and error words; only where the case has none of these, symptoms
        answered no, model, environment, connector and age bin. Words do not count.

        Returns
        -------
        array of int, shape (causes,)
        """
        mine = {
            (block.name, code)
            for block in blocks
            for code in pieces(block.name, given, block.edges)[0]
        }
        telling = {pair for pair in mine if pair[0] in TELLING}
        wanted = telling or mine
        flags = np.array([pair in wanted for pair in self.codes], dtype=float)
        is_like = self.carried @ flags > 0
        return np.bincount(self.cause[is_like], minlength=len(blocks[0].log_p))


def index_cases(
    blocks: tuple[CountingBlock, ...], evidence: Evidence, cause: Integers
) -> LikeCases:
    """Index the coded evidence of the labelled cases."""
    parts = [
        incidence(pieces(block.name, evidence, block.edges), block.codes)
        for block in blocks
    ]
    return LikeCases(
        codes=tuple((block.name, code) for block in blocks for code in block.codes),
        carried=sparse.csr_array(sparse.hstack(parts, format="csr")),
        cause=cause,
    )
