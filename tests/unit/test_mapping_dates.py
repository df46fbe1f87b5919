"""Dates in other notations."""

import pytest

from ingest.mapping.dates import read_date, why_no_format


@pytest.mark.parametrize(
    ("text", "formats", "form", "expected"),
    [
        ("05.03.2026", ["%d.%m.%Y"], "day", "2026-03-05"),
        ("5.3.26", ["%d.%m.%Y", "%d.%m.%y"], "day", "2026-03-05"),
        ("3/5/2026 2:07 PM", ["%m/%d/%Y %I:%M %p"], "moment", "2026-03-05T14:07:00"),
        ("05.03.2026", ["%d.%m.%Y"], "moment", "2026-03-05"),
        ("05.03.2026 14:07", ["%d.%m.%Y %H:%M"], "day", "2026-03-05"),
        ("05.03.2026 14:07 +0100", ["%d.%m.%Y %H:%M %z"], "moment",
         "2026-03-05T14:07:00+01:00"),
        ("03/2026", ["%m/%Y"], "month", "2026-03"),
        ("05.03.2026", ["%d.%m.%Y"], "month", "2026-03"),
        ("30.02.2026", ["%d.%m.%Y"], "day", None),
        ("next week", ["%d.%m.%Y"], "day", None),
    ],
)  # fmt: skip
def test_a_cell_is_read_by_the_format_that_fits(text, formats, form, expected):
    assert read_date(text, formats, form) == expected


def test_a_cell_that_two_formats_read_as_two_days_is_not_read():
    both = ["%d/%m/%Y", "%m/%d/%Y"]

    assert read_date("01/02/2026", both, "day") is None
    assert read_date("13/02/2026", both, "day") == "2026-02-13"
    assert read_date("02/02/2026", both, "day") == "2026-02-02"


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ("%d.%m.%Y", "day"),
        ("%Y%m%d", "day"),
        ("%Y-%m-%dT%H:%M:%S", "day"),
        ("%b %d, %Y", "moment"),
        ("%d.%m.%y %H:%M:%S%z", "moment"),
        ("%m/%Y", "month"),
        ("%b-%y", "month"),
    ],
)
def test_a_format_that_holds_what_the_field_needs_can_be_used(text, form):
    assert why_no_format(text, form) is None


@pytest.mark.parametrize(
    ("text", "form", "why"),
    [
        ("%d.%m", "day", "does not hold day, month and year"),
        ("%m/%Y", "day", "does not hold day, month and year"),
        ("%d.%m.%Y %H", "moment", "hours with minutes or no time at all"),
        ("%d.%m.%Y %I:%M", "moment", "hours with minutes or no time at all"),
        ("%Y", "month", "does not hold month and year"),
        ("%x", "day", "`%x` cannot be used"),
        ("%j/%Y", "day", "`%j` cannot be used"),
        ("%d.%m.%Y %H:%M %p", "moment", "`%p` goes with `%I`"),
        ("%d.%m.%Y%", "day", "`%` cannot be used"),
        ("%d.%d.%m.%Y", "day", "`%d` stands in it twice"),
        ("\ud800%d.%m.%Y", "day", "does not hold day, month and year"),
        ("", "day", "does not hold day, month and year"),
    ],
)
def test_a_format_that_loses_a_part_is_refused(text, form, why):
    assert why in why_no_format(text, form)


@pytest.mark.parametrize(
    ("text", "form"),
    [("%Y-%d-%m", "day"), ("%Y-%d-%m %H:%M", "moment"), ("%Y-%d-%mT%H:%M:%S", "day")],
)
def test_no_format_may_read_the_dates_of_a_workbook_as_other_days(text, form):
    assert "as another day" in why_no_format(text, form)
