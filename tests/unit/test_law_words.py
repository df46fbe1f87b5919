"""The laws of lives in words: ages read as one would say them."""

from dashboard.queries.life_law_words import contradiction


def test_where_the_curve_contradicts_a_law_whole_days_have_no_decimals():
    row = {
        "distribution": "weibull",
        "outside_from": 9.0,
        "outside_to": 43.0,
        "outside_between": [(9.0, 29.0), (43.0, 43.0)],
    }

    found = contradiction(row, largest_age=1763.0)

    assert "between 9 and 29 days, at 43 days:" in found["sentence"]
