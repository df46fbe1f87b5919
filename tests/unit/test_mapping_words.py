"""The lists of trade words are about our fields and codes, and say where they are from.

The lists are read here as files, apart from the code that uses them.
"""

import csv
from collections import defaultdict
from pathlib import Path

import pytest

from ingest import mapping
from ingest.cells import known_codes
from ingest.mapping.fields import FieldForm, form_of
from ingest.mapping.words import code_like, name_likeness, plain
from ingest.records import KINDS

FOLDER = Path(mapping.__file__).parent


def rows(name):
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def words_of(row):
    return {
        plain(word)
        for language in ("en", "de", "fr", "es", "nl")
        for word in row[language].split(";")
    } - {""}


def test_every_field_has_words_and_every_row_is_about_a_field():
    fields = {field for spec in KINDS.values() for field in spec.fields}

    assert {row["field"] for row in rows("field_words")} == fields


def test_every_word_for_a_code_is_about_a_code_that_there_is():
    for row in rows("code_words"):
        if row["list"] in KINDS["repairs"].fields:
            codes = form_of(row["list"]).codes
        else:
            codes = known_codes(row["list"])
        assert row["code"] in codes


@pytest.mark.parametrize("name", ["field_words", "code_words"])
def test_trade_words_are_marked_as_such(name):
    assert {row["source"] for row in rows(name)} == {"common practice, no source"}


def test_no_word_means_two_codes_of_a_list_or_two_fields_of_a_kind():
    meanings = defaultdict(set)
    for row in rows("code_words"):
        for word in words_of(row):
            meanings[row["list"], word].add(row["code"])
    for kind, spec in KINDS.items():
        for row in rows("field_words"):
            for word in words_of(row):
                if row["field"] in spec.fields:
                    meanings[kind, word].add(row["field"])

    assert {word: codes for word, codes in meanings.items() if len(codes) > 1} == {}


@pytest.mark.parametrize(
    ("heading", "field"),
    [
        ("Serial No.", "serial"),
        ("SERIENNUMMER", "serial"),
        ("n° de série", "serial"),
        ("Número de serie", "serial"),
        ("Datum Wareneingang", "received_on"),
        ("Seriennumer", "serial"),
        ("Kabellänge", "cable_length_m"),
    ],
)
def test_a_heading_is_known_in_five_languages_and_with_a_slip(heading, field):
    assert name_likeness(heading, field) > 0.5


def test_a_heading_that_says_nothing_is_like_no_field():
    assert all(name_likeness("zzz", field) == 0 for field in KINDS["units"].fields)


@pytest.mark.parametrize(
    ("word", "expected"),
    [
        ("Bestanden", ("pass", True)),
        ("nicht bestanden", ("fail", True)),
        ("n.i.O.", ("fail", True)),
        ("NOT_DONE", ("not_done", True)),
        ("bestandenn", ("pass", False)),
        ("maybe", None),
    ],
)
def test_a_word_means_a_code_or_is_like_one_that_does(word, expected):
    form = FieldForm("codes", "outcomes", known_codes("outcomes"))

    assert code_like(word, "outcome", form) == expected
