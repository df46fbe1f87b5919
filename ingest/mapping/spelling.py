"""Values that may be one thing spelled in several ways: offered, never merged.

Two lots that differ in a digit are two lots. Nothing here pairs a digit with another
digit, and a slipped letter is looked for in words only, where the other spelling is
far commoner.
"""

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

from ingest.mapping.apply import folded
from ingest.mapping.toml_text import quoted

# A word shorter than this may differ in a letter by intent: Type A, Type B.
WORD = 5
# How many times commoner the spelling must be that a slipped letter is held against.
COMMONER = 5
LOOK_ALIKE = str.maketrans({"O": "0", "o": "0", "I": "1", "i": "1"})
SMALL_L_IN_NUMBER = re.compile(r"(?<=\d)l")
BETWEEN_DIGITS = re.compile(r"(?<=\d)[\W_]+(?=\d)")
SIGNS = re.compile(r"[\W_]+")
# Letters, digits or signs; a capital after a small letter begins a word.
TOKEN = re.compile(r"\d+|[A-ZÀ-Þ]*[^\W\d_A-ZÀ-Þ]+|[A-ZÀ-Þ]+")


@dataclass(frozen=True, slots=True)
class SpellingGroup:
    """Spellings that may mean one thing.

    Attributes
    ----------
    proposed : str
        The commonest.
    counts : dict of str to int
        How often each occurs, commonest first, the proposed one included.
    """

    proposed: str
    counts: dict[str, int]


def spelling_variants(values: Mapping[str, int]) -> list[SpellingGroup]:
    """Return groups of values that may be spellings of one thing.

    Parameters
    ----------
    values : mapping of str to int
        Lots, suppliers or models with how often each occurs.

    Returns
    -------
    list of SpellingGroup
        Groups with the most rows first. Values of a group differ in capitals, blanks
        and signs, in 0 for O and 1 for I, or by one slipped letter in a word of at
        least 5 letters that is at least 5 times rarer.
    """
    known = [value for value in values if value.strip()]
    group_of = {value: value for value in known}

    def head(value: str) -> str:
        while group_of[value] != value:
            value = group_of[value]
        return value

    for one, other in _pairs(known, values):
        group_of[head(other)] = head(one)
    groups: dict[str, list[str]] = defaultdict(list)
    for value in known:
        groups[head(value)].append(value)
    found = [_group(members, values) for members in groups.values() if len(members) > 1]
    return sorted(found, key=lambda one: (-sum(one.counts.values()), one.proposed))


def mapping_lines(field: str, *groups: SpellingGroup) -> str:
    """Return the lines of a mapping file that give each group one spelling.

    Parameters
    ----------
    field : str
        The field whose values they are: `production_lot`.
    *groups : SpellingGroup
    """
    lines: dict[str, str] = {}
    for group in groups:
        for value in group.counts:
            # A mapping tells no words apart that differ in capitals and blanks only.
            if value != group.proposed:
                lines.setdefault(
                    folded(value), f"{quoted(value)} = {quoted(group.proposed)}"
                )
    return "\n".join([f"[codes.{field}]", *lines.values()])


def _group(members: list[str], values: Mapping[str, int]) -> SpellingGroup:
    in_order = sorted(members, key=lambda value: (-values[value], value))
    return SpellingGroup(in_order[0], {value: values[value] for value in in_order})


def _pairs(known: list[str], values: Mapping[str, int]) -> Iterator[tuple[str, str]]:
    for key in (_letters, _look_alike):
        first: dict[str, str] = {}
        for value in known:
            # Signs alone have no letters to compare.
            if letters := key(value):
                yield first.setdefault(letters, value), value
    for one, other in _slip_candidates(known):
        rare, common = sorted((values[one], values[other]))
        if rare * COMMONER <= common and _is_one_slip(one, other):
            yield one, other


def _letters(value: str) -> str:
    """Return a value without capitals and signs; numbers stay apart by a dash."""
    text = unicodedata.normalize("NFKC", value).casefold()
    kept = BETWEEN_DIGITS.sub("-", text)
    return "-".join(SIGNS.sub("", part) for part in _at_kept_dashes(kept))


def _at_kept_dashes(text: str) -> list[str]:
    return re.split(r"(?<=\d)-(?=\d)", text)


def _look_alike(value: str) -> str:
    text = unicodedata.normalize("NFKC", value).translate(LOOK_ALIKE)
    return _letters(SMALL_L_IN_NUMBER.sub("1", text))


def _tokens(value: str) -> tuple[str, ...]:
    text = unicodedata.normalize("NFKC", value)
    return tuple(token.casefold() for token in TOKEN.findall(text))


def _slip_candidates(known: list[str]) -> set[tuple[str, str]]:
    """Return pairs that agree when one letter is left out of one word of each."""
    alike: dict[tuple[str, ...], set[str]] = defaultdict(set)
    for value in known:
        for short in _with_a_letter_less(_tokens(value)):
            alike[short].add(value)
    return {
        pair for values in alike.values() for pair in combinations(sorted(values), 2)
    }


def _with_a_letter_less(tokens: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    for place, token in enumerate(tokens):
        if len(token) >= WORD and token.isalpha():
            for short in {token, *_shortened(token)}:
                yield (*tokens[:place], short, *tokens[place + 1 :])


def _shortened(token: str) -> Iterable[str]:
    return (token[:n] + token[n + 1 :] for n in range(len(token)))


def _is_one_slip(one: str, other: str) -> bool:
    """Say whether two values differ by one letter added, left out, changed, swapped."""
    first, second = _tokens(one), _tokens(other)
    different = [
        (a, b) for a, b in zip(first, second, strict=True) if a != b
    ]  # of one length: they agree with a letter left out
    if len(different) != 1:
        return False
    short, long = sorted(different[0], key=len)
    if len(short) < len(long):
        return short in _shortened(long)
    places = [n for n, (a, b) in enumerate(zip(short, long, strict=True)) if a != b]
    if len(places) == 1:
        return True
    neighbours = places == [places[0], places[0] + 1]
    return neighbours and short[places[0]] + short[places[1]] == (
        long[places[1]] + long[places[0]]
    )
