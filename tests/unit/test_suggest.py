import datetime as dt
import math

import numpy as np
import pandas as pd
import pytest

from analytics.advice.suggest import FaultSuggester
from analytics.errors import InsufficientDataError

LINKS = [("symptom", "hot", "crimp", 0.6), ("symptom", "hot", "pin", 0.3)]
LINKS += [("symptom", "offline", "radio", 0.6), ("finding", "brown", "pin", 0.6)]
TABLE = pd.DataFrame(LINKS, columns=["kind", "code", "cause", "probability"])
NO_CASES = pd.DataFrame({"symptoms": []})


def fit(cases, cause, **options):
    return FaultSuggester.fit(cases, cause, rng=np.random.default_rng(1), **options)


@pytest.fixture
def own():
    # 57 crimp cases, 41 of them hot; 43 radio cases, 2 of them hot.
    symptoms = ["hot"] * 41 + [""] * 16 + ["hot"] * 2 + ["offline"] * 41
    return fit(pd.DataFrame({"symptoms": symptoms}), ["crimp"] * 57 + ["radio"] * 43)


def test_an_item_unpacks_as_cause_probability_and_reasons(own):
    item = own.suggest({"symptoms": "hot"}).ranked[0]

    cause, probability, reasons = item
    assert (cause, probability, reasons) == (item[0], item[1], item[2])
    assert cause == "crimp"
    assert len(item) == 3
    assert 0.5 < probability < 1
    assert {reason.block for reason in reasons} == {"prior", "sym"}


def test_a_reason_says_how_often_it_was_seen(own):
    reasons = own.suggest({"symptoms": "hot"}).ranked[0].reasons

    (hot,) = [reason for reason in reasons if reason.code == "hot"]
    assert hot.counts == "seen in 41 of 57"
    assert (hot.n_seen_other, hot.n_of_other) == (2, 43)
    assert hot.sentence == (
        f"reported hot: \N{MULTIPLICATION SIGN}{hot.factor:.2g} for (seen in 41 of 57)"
    )


def test_the_likeliest_is_compared_with_the_runner_up_and_others_with_it():
    answer = fit(NO_CASES, [], expert_table=TABLE).suggest({"symptoms": "hot"})

    assert [item.cause for item in answer.ranked] == ["crimp", "pin", "radio"]
    assert [item.against for item in answer.ranked] == ["pin", "crimp", "crimp"]
    p = answer.probabilities
    for item in answer.ranked:
        log_odds = math.log(item.probability / p[item.against])
        assert sum(r.log_odds for r in item.reasons) == pytest.approx(
            log_odds, abs=1e-9
        )


def test_any_pair_has_reasons_also_where_only_the_ranking_was_asked_for():
    suggester = fit(NO_CASES, [], expert_table=TABLE)
    whole = suggester.suggest({"symptoms": "hot"})
    ranked = suggester.suggest({"symptoms": "hot"}, with_reasons=False)

    assert [item.reasons for item in ranked.ranked] == [(), (), ()]
    assert ranked.probabilities == whole.probabilities
    assert ranked.reasons_of("pin", "crimp") == whole.ranked[1].reasons
    p = whole.probabilities
    assert sum(r.log_odds for r in ranked.reasons_of("radio", "pin")) == pytest.approx(
        math.log(p["radio"] / p["pin"]), abs=1e-9
    )
    with pytest.raises(ValueError, match="heater"):
        ranked.reasons_of("heater", "pin")


def test_like_cases_share_a_telling_piece_of_evidence_and_count_once(own):
    answer = own.suggest({"symptoms": "hot;offline"})

    assert {item.cause: item.n_like for item in answer.ranked} == {
        "crimp": 41, "radio": 43,
    }  # fmt: skip


def test_like_cases_share_the_model_only_where_nothing_else_is_known():
    cases = pd.DataFrame({"symptoms": ["hot", "", ""], "model": ["M1", "M1", "M2"]})
    suggester = fit(cases, ["a", "a", "b"])

    by_model = suggester.suggest({"model": "M1"})
    by_symptom = suggester.suggest({"model": "M1", "symptoms": "hot"})

    assert {item.cause: item.n_like for item in by_model.ranked} == {"a": 2, "b": 0}
    assert {item.cause: item.n_like for item in by_symptom.ranked} == {"a": 1, "b": 0}


def test_without_any_case_the_expert_table_answers_and_says_so():
    suggester = fit(NO_CASES, [], expert_table=TABLE)

    answer = suggester.suggest({"symptoms": "offline"})

    assert answer.source == "from the expert table, 0 own cases"
    assert answer.ranked[0].cause == "radio"
    assert answer.n_cases == 0
    (reason,) = [r for r in answer.ranked[0].reasons if r.code == "offline"]
    assert reason.counts == "no own case"


def test_a_denied_symptom_counts_from_the_expert_table_alone():
    suggester = fit(NO_CASES, [], expert_table=TABLE)

    p = suggester.probabilities(pd.DataFrame({"symptoms_denied": ["hot"]})).iloc[0]

    assert p["radio"] > p["pin"] > p["crimp"]


def test_without_case_and_table_there_is_no_answer():
    with pytest.raises(
        InsufficientDataError, match="at least 1 labelled cases, found 0"
    ):
        fit(pd.DataFrame({"symptoms": ["hot"]}), [None])


def test_the_source_counts_own_cases_without_a_table(own):
    assert own.source == "from 100 own cases"
    assert fit(pd.DataFrame({"symptoms": ["hot"]}), ["a"]).source == "from 1 own case"


def test_a_single_cause_is_certain_and_has_nothing_to_be_compared_with():
    suggester = fit(pd.DataFrame({"symptoms": ["hot"]}), ["crimp"])

    (item,) = suggester.suggest({"symptoms": "hot"}).ranked

    assert (item.cause, item.probability, item.reasons) == ("crimp", 1.0, ())
    assert item.against is None


def test_cases_without_a_cause_are_dropped_and_counted():
    cases = pd.DataFrame({"symptoms": ["hot", "hot", "offline", ""]})

    suggester = fit(cases, ["crimp", None, "radio", float("nan")])

    assert (suggester.n_cases, suggester.n_unlabelled) == (2, 2)
    assert suggester.causes == ("crimp", "radio")


def test_what_was_confirmed_after_as_of_is_not_known():
    cases = pd.DataFrame(
        {
            "symptoms": ["hot"] * 4,
            "received_on": ["2025-01-01", "2025-01-02", "2025-03-01", "2025-01-03"],
            "confirmed_on": ["2025-01-10", "2025-02-10", "2025-03-02", None],
        }
    )

    suggester = fit(cases, ["a", "b", "c", "d"], as_of=dt.date(2025, 2, 9))

    assert suggester.causes == ("a", "d")
    assert suggester.n_after_as_of == 2
    assert suggester.as_of == "2025-02-09"


def test_as_of_is_else_the_last_day_received():
    cases = pd.DataFrame(
        {"received_on": [dt.date(2025, 5, 2), pd.Timestamp(2025, 3, 1)]}
    )

    assert fit(cases, ["a", "b"]).as_of == "2025-05-02"
    assert fit(NO_CASES, [], expert_table=TABLE).as_of is None


def test_causes_may_be_numbers():
    suggester = fit(pd.DataFrame({"symptoms": ["hot", "", ""]}), [7, 8, np.int64(8)])

    assert suggester.causes == (7, 8)
    assert suggester.suggest({"symptoms": "hot"}).n_cases == 3


def test_too_little_evidence_is_called_so(own):
    assert not own.suggest({}).enough_evidence
    assert own.suggest({}).evidence_bits == pytest.approx(0, abs=1e-12)


def test_a_clear_case_is_enough_evidence():
    suggester = fit(NO_CASES, [], expert_table=TABLE)

    answer = suggester.suggest({"symptoms": "hot", "intake_findings": "brown"})

    assert answer.evidence_bits > 1
    assert answer.ranked[0].probability > 0.3
    assert answer.enough_evidence


def test_evidence_is_not_enough_while_the_likeliest_cause_is_below_three_tenths():
    # Ten causes share one symptom, thirty have none: 2 bits, yet no favourite.
    rows = [("symptom", "hot", f"c{i}", 0.6 if i < 10 else 0.04) for i in range(40)]
    table = pd.DataFrame(rows, columns=TABLE.columns)

    answer = fit(NO_CASES, [], expert_table=table).suggest({"symptoms": "hot"})

    assert answer.evidence_bits > 1
    assert answer.ranked[0].probability < 0.3
    assert not answer.enough_evidence


def test_questions_leave_out_what_was_reported_or_denied():
    suggester = fit(NO_CASES, [], expert_table=TABLE)

    assert suggester.suggest({}).ask_next == ("offline", "hot")
    assert suggester.suggest({"symptoms": "hot"}).ask_next == ("offline",)
    assert suggester.suggest({"symptoms_denied": "offline"}).ask_next == ("hot",)


def test_at_most_three_questions_are_offered():
    rows = [("symptom", f"s{i}", f"c{i}", 0.6) for i in range(6)]
    table = pd.DataFrame(rows, columns=TABLE.columns)

    assert len(fit(NO_CASES, [], expert_table=table).suggest({}).ask_next) == 3


def test_only_as_many_causes_as_asked_for_are_ranked(own):
    assert len(own.suggest({}, top=1).ranked) == 1
    assert len(own.suggest({}, top=1).probabilities) == 2
    with pytest.raises(ValueError, match="top is at least 1, got 0"):
        own.suggest({}, top=0)


def test_probabilities_keep_the_index_and_have_a_column_per_cause(own):
    cases = pd.DataFrame({"symptoms": ["hot", "offline"]}, index=["C7", "C3"])

    p = own.probabilities(cases)

    assert p.index.tolist() == ["C7", "C3"]
    assert p.columns.tolist() == ["crimp", "radio"]
    assert p.loc["C7", "crimp"] > 0.5 > p.loc["C3", "crimp"]


def test_the_reasons_name_the_findings_not_seen_in_one_line():
    suggester = fit(NO_CASES, [], expert_table=TABLE)

    clean = suggester.suggest({"intake_findings": "clean"}).ranked[0].reasons
    brown = suggester.suggest({"intake_findings": "brown"}).ranked[0].reasons

    assert [(r.state, r.code) for r in clean if r.block == "find"] == [
        ("not found", "any")
    ]
    assert {(r.state, r.code) for r in brown if r.block == "find"} == {
        ("found", "brown"),
        ("not found", "any of the others"),
    }


def test_small_data_are_not_weighed_and_not_scored(own):
    assert set(own.weights.values()) == {1.0}
    assert own.half_life is None
    assert own.evaluation is None


def test_lengths_and_weights_must_fit_the_cases():
    cases = pd.DataFrame({"symptoms": ["hot", "hot"]})

    with pytest.raises(ValueError, match="2 cases but 1 causes"):
        fit(cases, ["a"])
    with pytest.raises(
        ValueError, match="weight holds one number from 0 to 1 per case"
    ):
        fit(cases, ["a", "b"], weight=[1.0, 2.0])


def test_a_malformed_date_is_refused():
    with pytest.raises(ValueError, match="Invalid isoformat string"):
        fit(pd.DataFrame({"received_on": ["yesterday"]}), ["a"])
    with pytest.raises(ValueError, match="a date is ISO 8601 text or a date, got 3"):
        fit(pd.DataFrame({"received_on": [3]}), ["a"])
