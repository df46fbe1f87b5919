"""Every problem and notice a row may have comes with what to do about it."""

import pytest

from dashboard.queries import quality_words
from dashboard.queries.quality_words import NOTICES, OTHERWISE, PROBLEMS, what_to_do
from ingest.validation import CODES

# The agreed codes, written out a second time on purpose.
AGREED = [
    "missing", "not_text", "too_long", "bad_pattern", "not_a_number", "out_of_range",
    "not_a_date", "unknown_code", "unknown_unit", "date_order",
    "duplicate_key_in_file", "currency_missing", "bad_encoding", "malformed_row",
    "malformed_message",
]  # fmt: skip
AGREED_NOTICES = [
    "unknown_column",
    "unknown_serial",
    "unknown_case",
    "personal_data_masked",
]


def test_every_agreed_code_has_words_and_no_other():
    assert set(PROBLEMS) == set(AGREED)
    assert set(NOTICES) == set(AGREED_NOTICES)


def test_every_code_of_the_checks_has_words_of_its_own():
    assert {code for code, _ in CODES.values()} <= set(PROBLEMS)


@pytest.mark.parametrize("code", [*PROBLEMS, *NOTICES])
def test_what_to_do_is_one_plain_sentence(code):
    sentence = what_to_do(code)

    assert sentence[0].isupper()
    assert sentence.endswith(".")
    assert sentence.count(". ") == 0
    assert len(sentence) <= 88  # what a table shows without cutting it off
    assert code not in sentence


def test_two_codes_never_share_their_words():
    words = [*PROBLEMS.values(), *NOTICES.values()]

    assert len(set(words)) == len(words)


def test_a_code_of_another_version_of_the_program_is_met_with_general_advice():
    assert what_to_do("not_seen_yet") == OTHERWISE
    assert quality_words.OTHERWISE not in PROBLEMS.values()
