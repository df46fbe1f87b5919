"""A limit of a check as a row: what a reading at it, inside and outside comes to."""

from collections.abc import Mapping
from dataclasses import dataclass

from analytics.advice.readings import Evaluation, evaluate_reading

Number = float | str
NO_SOURCE = "common practice, no source"
UNDEFINED = ("undefined", "undefined", "fail")  # the edge of a band between windows


@dataclass(frozen=True)
class Edge:
    """One edge of a limit, for one kind of unit.

    `words` stand in the meaning, where something about the unit is assumed.
    """

    check: str
    context: Mapping[str, object]
    at: Number
    inside: Number
    outside: Number
    unit: str
    source: str
    expected: tuple[str, str, str] = ("pass", "pass", "fail")
    words: str = ""

    def __str__(self) -> str:
        facts = ",".join(f"{name}={value}" for name, value in self.context.items())
        return f"{self.check}[{facts}]{self.at}"

    def found(self) -> list[Evaluation]:
        """Return the readings at the edge, inside and outside it, judged."""
        return [
            judged(self.check, value, self.unit, self.context)
            for value in (self.at, self.inside, self.outside)
        ]


def judged(
    check: str, value: Number, unit: str, context: Mapping[str, object]
) -> Evaluation:
    return evaluate_reading(check, value, unit, stage="diagnosis", context=context)


def hold(edge: Edge) -> None:
    """Assert that the readings come out as the row says, with its source."""
    found = edge.found()
    assert tuple(reading.outcome for reading in found) == edge.expected
    assert {reading.source for reading in found} == {edge.source}
    assert all(edge.words in reading.meaning for reading in found)
