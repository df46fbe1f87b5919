"""What can be asked of lives beside the filters: groups, ages, a shape to assume."""

from dataclasses import dataclass
from typing import Literal, get_args

from dashboard.filters import nearest_hint
from ingest.errors import UsageError

GroupWord = Literal[
    "model",
    "lot",
    "hardware_revision",
    "firmware_version",
    "cable_supplier",
    "site",
    "region",
    "environment",
    "duty",
    "connector",
]
GROUP_WORDS: tuple[GroupWord, ...] = get_args(GroupWord)
TWO = 2
LARGEST_SHAPE = 20.0
LARGEST_AGE = 36500.0  # a hundred years, in days


@dataclass(frozen=True, slots=True)
class Comparison:
    """Which groups to compare.

    Attributes
    ----------
    by : str or None
        The word that tells groups apart; None compares nothing.
    groups : tuple of str
        Two of its values; empty: the two with most failures.
    within : str or None
        Units are compared only with units that share this word.
    """

    by: GroupWord | None = None
    groups: tuple[str, ...] = ()
    within: GroupWord | None = None

    def __post_init__(self) -> None:
        for name, word in (("by", self.by), ("within", self.within)):
            if word is not None and word not in GROUP_WORDS:
                raise UsageError(
                    f"{name} {word} is not known.",
                    hint=f"{nearest_hint(word, GROUP_WORDS)}.".capitalize(),
                )
        if self.by is None and (self.groups or self.within):
            raise UsageError(
                "Groups were named without the word that tells them apart.",
                hint=f"Name it with `by`, one of {', '.join(GROUP_WORDS)}.",
            )
        if self.by is not None and self.by == self.within:
            raise UsageError(
                f"Groups of {self.by} cannot be compared within {self.by}.",
                hint="Choose another word for `within`, or leave it out.",
            )
        if self.groups and len(set(self.groups)) != TWO:
            raise UsageError(
                f"{len(set(self.groups))} groups were named.",
                hint="Name two different values, or none: then the two with most "
                "failures are compared.",
            )


def checked_ages(ages: tuple[float, ...]) -> tuple[float, ...]:
    """Return ages in days at which the failed share is asked.

    Raises
    ------
    UsageError
        An age not above 0, or over a hundred years.
    """
    for age in ages:
        if not 0 < age <= LARGEST_AGE:
            raise UsageError(
                f"age {age:g} is not a number of days to ask about.",
                hint=f"Give days above 0 and up to {LARGEST_AGE:.0f}.",
            )
    return ages


def checked_shapes(shapes: tuple[float, ...]) -> tuple[float, float] | None:
    """Return the range of shapes to assume; one value is a range of its own.

    Raises
    ------
    UsageError
        More than two values, or one outside 0 to 20.
    """
    if not shapes:
        return None
    is_sound = len(shapes) in {1, 2} and all(0 < s <= LARGEST_SHAPE for s in shapes)
    if not is_sound:
        raise UsageError(
            f"assumed shape {', '.join(map(str, shapes))} is no range.",
            hint=f"Give one or two numbers above 0 and up to {LARGEST_SHAPE:.0f}.",
        )
    return min(shapes), max(shapes)
