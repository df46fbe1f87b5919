"""Plain trade words for fields and codes, to guess from what people write.

Two lists beside this module, in English, German, French, Spanish and Dutch; common
practice, no source. They serve the draft of a mapping only: what a person has not
checked changes no row.
"""

import csv
import difflib
import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterator
from functools import cache, lru_cache
from importlib.resources import files

from ingest import catalogue
from ingest.mapping.fields import FieldForm, all_fields

LANGUAGES = ("en", "de", "fr", "es", "nl")
# How sure a name makes us, from the field's own name down to a likeness.
OWN_NAME = 1.0
SAME_WORDS = 0.95
HOLDS_WORDS = 0.75
LIKE_WORDS = 0.7
LEAST_LIKE = 0.85
LEAST_LIKE_CODE = 0.8
# Words so short are found inside too many others.
LONG_ENOUGH = 5
BETWEEN_WORDS = re.compile(r"[;,/|+\n]")
NOT_A_LETTER = re.compile(r"[\W_]+")


def plain(text: str) -> str:
    """Return the words of a text in small letters, without accents and signs."""
    folded = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(sign for sign in folded if not unicodedata.combining(sign))
    return " ".join(NOT_A_LETTER.split(bare)).strip()


@lru_cache(maxsize=1 << 13)
def name_likeness(heading: str, field: str) -> float:
    """Return how much a column name says that it is a field, from 0 to 1.

    Parameters
    ----------
    heading : str
        The name of the column, without the unit it may hold.
    field : str
    """
    if heading == field:
        return OWN_NAME
    words = plain(heading)
    known = _field_words()[field]
    if words in known:
        return SAME_WORDS
    if any(_holds(words, one) for one in known):
        return HOLDS_WORDS
    like = difflib.get_close_matches(words, known, n=1, cutoff=LEAST_LIKE)
    return LIKE_WORDS if like else 0.0


@lru_cache(maxsize=1 << 13)
def code_like(word: str, field: str, form: FieldForm) -> tuple[str, bool] | None:
    """Return the code that a word may mean, and whether the word is known to mean it.

    Returns
    -------
    tuple of str and bool, or None
        False beside the code: the word is only like one that does.
    """
    known = _code_words(form.code_list or field)
    words = plain(word)
    if words in known:
        return known[words], True
    like = difflib.get_close_matches(words, known, n=1, cutoff=LEAST_LIKE_CODE)
    return (known[like[0]], False) if like else None


def holds_known_word(cell: str, code_list: str) -> bool:
    """Say whether a cell is, or lists, a word that is known to mean a code."""
    known = _code_words(code_list)
    return any(plain(part) in known for part in (cell, *BETWEEN_WORDS.split(cell)))


def _holds(words: str, known: str) -> bool:
    return len(known) >= LONG_ENOUGH and f" {known} " in f" {words} "


@cache
def _field_words() -> dict[str, frozenset[str]]:
    words = defaultdict(set, {field: {plain(field)} for field in all_fields()})
    for row in _rows("field_words"):
        words[row["field"]].update(_words_of(row))
    return {field: frozenset(known) for field, known in words.items()}


@cache
def _code_words(name: str) -> dict[str, str]:
    """Return codes by the plain words for them: own, label, then trade words."""
    words: dict[str, str] = {}
    for code, label in _labels(name).items():
        words.setdefault(plain(code), code)
        words.setdefault(plain(label), code)
    for row in _rows("code_words"):
        if row["list"] == name:
            for word in _words_of(row):
                words.setdefault(word, row["code"])
    return words


def _labels(name: str) -> dict[str, str]:
    if name == "failure_modes":
        return {mode.code: mode.label for mode in catalogue.failure_modes().values()}
    if name == "checks":
        return {check.code: check.label for check in catalogue.checks().values()}
    if name in catalogue.CODE_KINDS:
        return {code.code: code.label for code in catalogue.codes(name).values()}
    return {}


def _words_of(row: dict[str, str]) -> Iterator[str]:
    for language in LANGUAGES:
        for word in row[language].split(";"):
            if known := plain(word):
                yield known


def _rows(name: str) -> Iterator[dict[str, str]]:
    text = (files(__package__) / f"{name}.csv").read_text(encoding="utf-8")
    yield from csv.DictReader(text.splitlines())
