"""E-mail addresses, telephone and vehicle numbers are masked; measured values are not.

Numbers below are invented or set aside for fiction by the bodies that give them out.
"""

import string

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from ingest.personal_data import (
    MIGHT_HOLD,
    masked_cells,
    masked_problems,
    masked_text,
    might_hold_personal_data,
)
from ingest.readers.source import NoValue, Problem

REPAIRS = {
    "fields": frozenset({"case_id", "serial", "received_on", "symptom_text", "site"}),
    "free_text": frozenset({"symptom_text"}),
}


@pytest.mark.parametrize(
    ("text", "masked"),
    [
        ("mail anna.b+x@depot.example.org please", "mail [e-mail] please"),
        ("<ANNA@EXAMPLE.COM>", "<[e-mail]>"),
        ("müller@bücher.example, x@y.example", "[e-mail], [e-mail]"),
        ("a@b.co@c.de", "[e-mail]@c.de"),
    ],
)
def test_an_e_mail_address_is_masked(text, masked):
    assert masked_text(text) == masked


@pytest.mark.parametrize(
    "number",
    [
        "+49 171 1234567", "+49 (0)171/123 45 67", "+441632960123", "+1 555 0100 123",
        "0049 171 1234567", "0171 1234567", "0171/1234567", "0171-1234567",
        "(0171) 1234567", "01711234567", "030 123456", "0711/1234567-12",
        "01632 960123", "06 12 34 56 78", "06.12.34.56.78", "079 123 45 67",
        "555-123-4567", "(555) 123-4567", "1-555-123-4567", "555.123.4567",
    ],
)  # fmt: skip
@pytest.mark.parametrize(
    "text", ["{}", "call {} now", "Mr X, {}.", "16 A; {}; 230 V", "on 01.02.2026 {} x"]
)
def test_a_telephone_number_is_masked(number, text):
    assert masked_text(text.format(number)) == text.format("[phone]")


@pytest.mark.parametrize(
    ("text", "masked"),
    [
        ("Tel. 1234567", "Tel. [phone]"),
        ("Telefon: 12 34 567 89", "Telefon: [phone]"),
        ("phone no 7946 0958", "phone no [phone]"),
        ("Handy-Nr. 171 1234567", "Handy-Nr. [phone]"),
        ("call back at 8675309", "call back at [phone]"),
        ("0171 1234567 0172 7654321", "[phone] [phone]"),
        ("12 345 0171 1234567", "12 345 [phone]"),
    ],
)
def test_a_number_after_a_word_for_telephone_is_masked(text, masked):
    assert masked_text(text) == masked


@pytest.mark.parametrize(
    "text",
    [
        "",
        "drew 16.25 A at 230.4 V, 0.000123456 ohm",
        "L1 230.1 L2 231.2 L3 229.9 N 0.05",
        "0.12 0.34 0.56 0.78 0.91",
        "1234567 ohm, 12345678 kWh, -0.0471 mV",
        "230 231 2290",
        "AB-2024-001234",
        "serial AB-2024-001234 in lot L-2025-07-0815",
        "PN 4711-0815-22, part 0815-4711-22, lot no. 0171 1234567",
        "case 0171234567 of order 0815/4711-22",
        "from 01.02.2026 12:30 to 02.02.2026 07:45:10",
        "2026-01-02T10:15:00+00:00 and 2026-01-02 10:15",
        "12/31/2025 01/02/2026",
        "192.168.100.200",
        "firmware 1.02.0003.4567",
        "meter 00012345",
        "Fahrgestellnummer",
        "12345678901234567",  # 17 digits are a time or a count, not a vehicle
        "contact L1@N 16A@230.V",
        "WVWZZZ1JZXW000001",  # no check digit, no word
        "[e-mail] [phone] [VIN] 12345678",
    ],
)
def test_what_is_measured_counted_or_named_stays(text):
    assert masked_text(text) == text


@pytest.mark.parametrize(
    "text",
    [
        "VIN WVWZZZ1JZXW000001",
        "vin: wvwzzz1jzxw000001",
        "FIN=WVWZZZ1JZXW000001",
        "Fahrgestellnummer WVWZZZ1JZXW000001",
        "chassis no. WVWZZZ1JZXW000001",
        "VIN 11111111111111111",
    ],
)
def test_after_a_word_for_it_a_vehicle_number_needs_no_check_digit(text):
    assert masked_text(text) == text[:-17] + "[VIN]"


def test_a_vehicle_number_in_lower_case_is_one_too():
    assert masked_text("x 1m8gdm9axkp042788") == "x [VIN]"


PIECES = st.sampled_from(
    ["+49 171 1234567", "0171 1234567", "555-123-4567", "a@b.example", "Tel. ", "VIN ",
     "1M8GDM9AXKP042788", "WVWZZZ1JZXW000001", "lot ", "01.02.2026", "12:30", "16 A",
     "[phone]", "[VIN]", "-", ".", "/", "(", ")", "+", " ", "x", "7", "0", "@"]
)  # fmt: skip


@given(st.lists(PIECES, max_size=9).map("".join) | st.text(max_size=60))
@example("0171 1234567 0172 7654321 0173 1111111")
@example("phone 0171 1234567 8901234")
def test_masking_again_changes_nothing(text):
    once = masked_text(text)

    assert masked_text(once) == once


@given(st.text(st.sampled_from("@+()./- :0123456789ABCXab.\n"), max_size=60))
def test_the_cheap_look_misses_nothing_that_would_be_masked(text):
    if not might_hold_personal_data(text):
        assert masked_text(text, column="phone VIN") == text
    assert masked_text("") == ""


@given(st.text(max_size=40), st.text(max_size=40))
def test_an_address_between_any_words_is_found(before, after):
    assert "zoe@depot.example" not in masked_text(f"{before} zoe@depot.example {after}")


@given(
    st.lists(
        st.decimals(-9999, 9999, places=4).map(str)
        | st.dates().map(str)
        | st.datetimes().map(lambda moment: moment.isoformat(" ", "seconds")),
        max_size=6,
    )
)
def test_values_and_times_in_a_row_stay_as_they_are(values):
    for text in (", ".join(values), " V; ".join(values)):
        assert masked_text(text) == text


def test_the_cheap_look_holds_only_syntax_that_the_database_has_too():
    for pattern in MIGHT_HOLD:
        assert not set("?<=!") & set(pattern.replace("(?:", "")), pattern


def test_of_an_accepted_row_free_text_and_own_columns_are_looked_at():
    cells = {
        "case_id": "0171 1234567",
        "site": "x@y.example",
        "symptom_text": "call 0171 1234567",
        "Kunde": "x@y.example",
        "Telefon": "1234567",
        "ticked": True,
        "bytes": NoValue("x@y.example"),
    }

    kept, masked = masked_cells(cells, **REPAIRS, set_aside=False)

    assert kept == cells | {
        "symptom_text": "call [phone]",
        "Kunde": "[e-mail]",
        "Telefon": "[phone]",
        "bytes": NoValue("[e-mail]"),
    }
    assert list(kept) == list(cells)
    assert masked == ["symptom_text", "Kunde", "Telefon", "bytes"]


def test_of_a_row_set_aside_every_cell_is_looked_at_but_names():
    cells = {
        "case_id": "0171 1234567",
        "serial": "1M8GDM9AXKP042788",
        "received_on": "0171 1234567",
        "site": "x@y.example 1M8GDM9AXKP042788",
        "labour_minutes": "01711234567",
        "parts_used": "0815-4711-22",
    }
    fields = frozenset(cells)

    kept, masked = masked_cells(
        cells, fields=fields, free_text=frozenset(), set_aside=True
    )

    assert kept == cells | {"received_on": "[phone]", "site": "[e-mail] [VIN]"}
    assert masked == ["received_on", "site"]


def test_a_row_with_nothing_to_mask_comes_back_equal():
    cells = {"case_id": "R1", "symptom_text": string.printable}

    assert masked_cells(cells, **REPAIRS, set_aside=True) == (cells, [])


def test_the_sentence_of_a_problem_quotes_no_personal_data():
    problem = Problem("phases", "out_of_range", "must be 1 or 3, got 'a@b.example'")

    (found,) = masked_problems([problem])

    assert found == Problem("phases", "out_of_range", "must be 1 or 3, got '[e-mail]'")
