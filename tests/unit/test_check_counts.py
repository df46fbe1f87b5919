"""The chances of the check x mode table after own cases.

Value of the worked example: mean of a beta posterior, (a + x) / (a + b + n), with the
prior as a + b = 10 cases (any textbook of Bayesian statistics; from memory).
"""

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pandas.testing import assert_frame_equal

from analytics.advice.check_counts import learnt_check_table, n_learnt_from
from analytics.advice.check_table import default_check_table
from analytics.advice.checks_at_hand import DEFAULT_P_FAIL, checks_at_hand
from analytics.advice.first_check import next_check

TABLE = default_check_table({})
BEARING = sorted(set(TABLE.loc[TABLE["cause"] != "", "check"]))
MODES = sorted(set(TABLE["cause"]) - {""})


def counts(*rows):
    return pd.DataFrame(rows, columns=["check", "mode", "n_done", "n_failed"])


def chance(table, check, mode):
    found = table[(table["check"] == check) & (table["cause"] == mode)]
    return found["p_fail"].item()


def linked(*, confirms):
    rows = TABLE[(TABLE["confirms"] == confirms) & (TABLE["cause"] != "")]
    return rows.iloc[0]


def test_without_own_cases_the_table_is_that_of_common_practice():
    assert_frame_equal(learnt_check_table(TABLE, counts()), TABLE)
    assert n_learnt_from(TABLE, counts()) == 0


def test_common_practice_counts_as_ten_cases():
    link = linked(confirms=False)
    own = counts((link["check"], link["cause"], 30, 6))

    learnt = learnt_check_table(TABLE, own)

    expected = (6 + 10 * link["p_fail"]) / 40
    assert chance(learnt, link["check"], link["cause"]) == pytest.approx(expected)
    assert n_learnt_from(TABLE, own) == 30


def test_a_link_that_confirms_keeps_its_chance():
    link = linked(confirms=True)
    own = counts((link["check"], link["cause"], 500, 500))

    assert_frame_equal(learnt_check_table(TABLE, own), TABLE)
    assert n_learnt_from(TABLE, own) == 0


def test_a_pair_that_nobody_thought_of_is_learnt_and_confirms_nothing():
    check = BEARING[0]
    mode = next(m for m in MODES if m not in set(TABLE[TABLE["check"] == check].cause))

    learnt = learnt_check_table(TABLE, counts((check, mode, 90, 45)))

    new = learnt[(learnt["check"] == check) & (learnt["cause"] == mode)].iloc[0]
    assert new["p_fail"] == pytest.approx((45 + 10 * DEFAULT_P_FAIL) / 100)
    assert not new["confirms"]
    same = TABLE[TABLE["check"] == check].iloc[0]
    for name in ("minutes", "hazard", "gate", "needs"):
        assert new[name] == same[name]


def test_a_check_that_bears_on_no_cause_stays_so_and_a_foreign_one_is_left_out():
    own = counts(("proved_dead", MODES[0], 40, 3), ("cable_coding", MODES[0], 40, 3))
    table = default_check_table({"connector": "type_1"})

    learnt = learnt_check_table(table, own)

    assert_frame_equal(learnt, table)
    assert n_learnt_from(table, own) == 0


def test_counts_that_cannot_be_are_refused():
    with pytest.raises(ValueError, match="between 0 and n_done"):
        learnt_check_table(TABLE, counts((BEARING[0], MODES[0], 3, 4)))
    with pytest.raises(ValueError, match="lack the column n_failed"):
        learnt_check_table(TABLE, counts().drop(columns="n_failed"))


@settings(deadline=None)
@given(
    st.dictionaries(
        st.tuples(st.sampled_from(BEARING), st.sampled_from(MODES)),
        st.tuples(st.integers(0, 10_000), st.floats(0, 1)),
        max_size=30,
    )
)
def test_a_chance_lies_between_common_practice_and_own_cases(own):
    rows = [(c, m, n, round(n * share)) for (c, m), (n, share) in own.items()]
    learnt = learnt_check_table(TABLE, counts(*rows))
    before = {(r.check, r.cause): r for r in TABLE.itertuples()}

    for check, mode, n_done, n_failed in rows:
        link = before.get((check, mode))
        p = link.p_fail if link is not None else DEFAULT_P_FAIL
        now = chance(learnt, check, mode)
        assert 0 < now < 1
        if link is not None and link.confirms:
            assert now == p
        elif n_done:
            low, high = sorted([p, n_failed / n_done])
            assert low - 1e-12 <= now <= high + 1e-12
    # What may be done, and when, is not learnt.
    free = [c.check for c in next_check({MODES[0]: 1.0}, learnt) if not c.blocked_by]
    assert set(free) <= {"settings_and_log", "proved_dead"}
    assert list(checks_at_hand(learnt)) == list(checks_at_hand(TABLE))
