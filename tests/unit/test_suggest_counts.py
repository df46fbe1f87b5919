import numpy as np
import pandas as pd
import pytest

from analytics.advice.counting_blocks import fit_block
from analytics.advice.evidence import read_cases, read_intake
from analytics.advice.expert_prior import plain_label, read_expert_table

A, B = 0, 1
CASES = pd.DataFrame(
    {
        "symptoms": ["s", "s", "", ""],
        "symptoms_denied": ["", "", "s", ""],
        "intake_findings": ["f", "clean", "", "clean"],
        "charger_error_codes": ["E", "", "", "E"],
        "model": ["M1", "M1", "M2", None],
        "age_days": [10, 20, 30, None],
    }
)
CAUSE = np.array([A, A, A, B])
TRUSTED = np.ones(4)
TABLE = pd.DataFrame(
    [("symptom", "s", "a", 0.6), ("symptom", "t", "b", 0.3)],
    columns=["kind", "code", "cause", "probability"],
)


def fitted(name, *, table=None, weight=TRUSTED, cases=CASES):
    expert = read_expert_table(table, ("a", "b"))
    return fit_block(name, read_cases(cases), CAUSE, weight, expert)


def p(block, cause, code):
    return np.exp(block.log_p[cause, block.codes.index(code)])


def test_a_reported_symptom_is_counted_over_all_cases_and_shrunk_to_all_causes():
    block = fitted("sym")

    base = (2 + 0.5) / (4 + 1)
    assert p(block, A, "s") == pytest.approx((2 + 16 * base) / (3 + 16))
    assert p(block, B, "s") == pytest.approx((0 + 16 * base) / (1 + 16))
    assert (block.n_seen[A, 0], block.n_of[A, 0]) == (2, 3)


def test_a_symptom_of_the_expert_table_is_shrunk_to_the_part_people_volunteer():
    block = fitted("sym", table=TABLE)

    assert p(block, A, "s") == pytest.approx((2 + 20 * 0.6 * 0.78) / (3 + 20))
    assert p(block, B, "s") == pytest.approx((0 + 20 * 0.04 * 0.78) / (1 + 20))
    assert p(block, B, "t") == pytest.approx((0 + 20 * 0.3 * 0.78) / (1 + 20))


def test_a_denial_is_counted_among_the_cases_that_did_not_report_it():
    block = fitted("symno")

    base = (1 + 0.5) / (2 + 1)
    assert p(block, A, "s") == pytest.approx((1 + 16 * base) / (1 + 16))
    assert (block.n_seen[A, 0], block.n_of[A, 0]) == (1, 1)
    assert (block.n_seen[B, 0], block.n_of[B, 0]) == (0, 1)


def test_a_denial_speaks_against_the_mode_that_the_expert_table_links():
    block = fitted("symno", table=TABLE)

    assert block.log_p[A, 0] < block.log_p[B, 0]


def test_findings_are_counted_among_inspected_cases():
    block = fitted("find")

    assert (block.n_seen[A, 0], block.n_of[A, 0]) == (1, 2)
    base = (1 + 0.5) / (3 + 1)
    assert p(block, A, "f") == pytest.approx((1 + 16 * base) / (2 + 16))


def test_a_unit_nobody_looked_at_adds_nothing_and_a_clean_one_does():
    block = fitted("find")

    assert block.scores(read_intake({})).tolist() == [[0, 0]]
    clean = block.scores(read_intake({"intake_findings": "clean"}))
    assert clean.tolist() == [[block.log_not[A, 0], block.log_not[B, 0]]]


def test_findings_count_half_in_a_unit_that_others_had_opened():
    block = fitted("find")
    seen = {"intake_findings": "f"}

    whole = block.scores(read_intake(seen))
    half = block.scores(read_intake(seen | {"opened_before_arrival": "yes"}))

    assert half == pytest.approx(whole / 2)


@pytest.mark.parametrize("name", ["sym", "symno", "find", "err", "model", "age"])
def test_unknown_adds_nothing_in_any_block(name):
    assert fitted(name).scores(read_intake({})).tolist() == [[0, 0]]


def test_a_category_is_counted_where_it_is_known_and_adds_up_to_one():
    block = fitted("model")

    assert block.codes == ("M1", "M2")
    assert (block.n_seen[A, 0], block.n_of[A, 0], block.n_of[B, 0]) == (2, 3, 0)
    assert np.exp(block.log_p).sum(axis=1) == pytest.approx([1, 1])


def test_a_category_never_seen_adds_nothing():
    assert fitted("model").scores(read_intake({"model": "M9"})).tolist() == [[0, 0]]


def test_no_error_is_an_error_word_like_any_other():
    cases = CASES.assign(charger_error_codes=["NoError", "", "", ""])

    assert fitted("err", cases=cases).codes == ("NoError",)


def test_ages_fall_into_bins_of_like_size():
    cases = CASES.iloc[[0] * 4].assign(age_days=[0, 100, 200, 300])

    block = fitted("age", cases=cases)

    assert block.edges == (38, 75, 112, 150, 188, 225, 262)
    assert block.codes == (
        "188 to 225 days", "262 days and more", "75 to 112 days", "under 38 days",
    )  # fmt: skip


def test_one_single_age_is_a_bin_of_its_own():
    cases = CASES.assign(age_days=[7, 7, 7, 7])

    block = fitted("age", cases=cases)

    assert block.codes == ("7 days and more",)


def test_an_untrusted_label_is_not_counted_as_evidence():
    block = fitted("sym", weight=np.array([0, 1, 1, 1]))

    base = (1 + 0.5) / (3 + 1)
    assert p(block, A, "s") == pytest.approx((1 + 16 * base) / (2 + 16))
    assert block.n_seen[A, 0] == 2


def test_a_cause_without_cases_leans_on_its_component():
    table = pd.DataFrame(
        [("symptom", "x", "a", 0.5, "handle"), ("symptom", "x", "b", 0.5, "cable"),
         ("symptom", "x", "c", 0.5, "handle"), ("symptom", "x", "d", 0.5, "cable")],
        columns=["kind", "code", "cause", "probability", "component"],
    )  # fmt: skip
    expert = read_expert_table(table, ("a", "b", "c", "d"))

    block = fit_block("err", read_cases(CASES), CAUSE, TRUSTED, expert)

    overall = (2 + 0.5) / (4 + 1)
    assert p(block, 2, "E") == pytest.approx((1 + 20 * overall) / (3 + 20))
    assert p(block, 3, "E") == pytest.approx((1 + 20 * overall) / (1 + 20))


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"probability": 1.0}, "above 0 and below 1"),
        ({"kind": "smell"}, "kinds of the expert table"),
        ({"cause": None}, "names no cause"),
        ({"code": "s", "cause": "a"}, "names a code and cause twice"),
    ],
)
def test_a_malformed_expert_table_is_refused(change, message):
    with pytest.raises(ValueError, match=message):
        read_expert_table(TABLE.assign(**change), ("a", "b"))


def test_an_expert_table_without_a_column_is_refused():
    with pytest.raises(ValueError, match=r"lacks the columns \['probability'\]"):
        read_expert_table(TABLE.drop(columns="probability"), ("a", "b"))


@pytest.mark.parametrize(
    ("label", "plain"), [("a", "a"), (np.int64(3), 3), (None, None), (np.nan, None)]
)
def test_a_cause_is_text_or_a_whole_number(label, plain):
    assert plain_label(label) == plain


def test_a_cause_of_another_type_is_refused():
    with pytest.raises(ValueError, match="a cause is text or a whole number, got"):
        plain_label(1.5)
