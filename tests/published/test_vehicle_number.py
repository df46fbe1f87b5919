"""The check digit of a vehicle identification number.

Data    49 CFR 565.15 (c), which ISO 3779 leaves to countries: the vehicle number
        1M8GDM9AXKP042788 of the worked example, and seventeen ones.
Values  The rest of the division of the weighted sum by 11 is 10, written X; for
        seventeen ones the sum is 89, the rest 1.
Read    2026-11-27 (from memory: the regulation was not at hand; the sums were worked
        again by hand).
Digits  A check digit is exact.
"""

import pytest

from ingest.personal_data import check_digit, masked_text


@pytest.mark.parametrize(
    ("number", "digit"), [("1M8GDM9AXKP042788", "X"), ("1" * 17, "1")]
)
def test_the_check_digit_is_the_printed_one(number, digit):
    assert check_digit(number) == digit == number[8]


def test_a_number_with_a_right_check_digit_is_masked_and_no_other():
    assert masked_text("car 1M8GDM9AXKP042788 was here") == "car [VIN] was here"
    for wrong in "0123456789":
        text = f"car 1M8GDM9A{wrong}KP042788 was here"
        assert masked_text(text) == text
