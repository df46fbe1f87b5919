import datetime as dt
from decimal import Decimal

import numpy as np
import pandas as pd
import pytest

from dashboard.queries.answer import plain, rows_of


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (float("inf"), None),
        (float("nan"), None),
        (np.float64(0.5), 0.5),
        (np.int64(3), 3),
        (np.array([1, 2]), [1, 2]),
        ({"a": (1, None)}, {"a": [1, None]}),
        (dt.date(2026, 1, 2), "2026-01-02"),
        (pd.Timestamp("2026-01-02"), "2026-01-02"),
        (dt.datetime(2026, 1, 2, 3, 4, tzinfo=dt.UTC), "2026-01-02T03:04:00+00:00"),
        (pd.NaT, None),
        (Decimal("12.50"), "12.50"),
        ("text", "text"),
        (True, True),
    ],
)
def test_a_value_becomes_what_json_knows(value, shown):
    assert plain(value) == shown


def test_a_frame_becomes_rows_with_null_for_nothing():
    frame = pd.DataFrame({"a": ["x", None], "b": [1.0, np.nan]})

    assert rows_of(frame) == [{"a": "x", "b": 1.0}, {"a": None, "b": None}]
