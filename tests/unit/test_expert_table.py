import numpy as np
import pandas as pd
import pytest

from analytics.advice.expert_table import default_expert_table
from analytics.advice.suggest import FaultSuggester
from ingest import catalogue

TABLE = default_expert_table()
PROBABILITY = TABLE.set_index(["kind", "code", "cause"])["probability"]


def test_every_linked_code_has_a_row_for_every_mode():
    codes = {(link.kind, link.code) for link in catalogue.evidence_links()}

    assert len(TABLE) == len(codes) * len(catalogue.failure_modes())
    assert set(TABLE["cause"]) == set(catalogue.failure_modes())
    assert not PROBABILITY.index.has_duplicates


@pytest.mark.parametrize(
    ("symptom", "mode", "probability"),
    [
        # "charge stops when the cable is moved": the cable's pilot core is named
        # first, the handle's pilot later, the radio not at all.
        ("stops_when_cable_moved", "cable_pilot_open", 0.6),
        ("stops_when_cable_moved", "handle_pilot_open", 0.3),
        ("stops_when_cable_moved", "communication_module_failed", 0.04),
        ("humming", "contactor_chattering", 0.6),
    ],
)
def test_the_mode_named_first_is_likeliest(symptom, mode, probability):
    assert PROBABILITY["symptom", symptom, mode] == probability


def test_each_code_has_a_first_mode_and_every_link_is_in_the_table():
    for kind, code in TABLE[["kind", "code"]].drop_duplicates().itertuples(index=False):
        rates = PROBABILITY[kind, code]
        links = [
            link.mode
            for link in catalogue.evidence_links()
            if (link.kind, link.code) == (kind, code)
        ]
        assert rates.max() == 0.6
        assert set(rates[rates > 0.04].index) == set(links)


def test_each_mode_has_the_component_of_the_catalogue():
    components = TABLE.drop_duplicates("cause").set_index("cause")["component"]

    assert components.to_dict() == {
        code: mode.component for code, mode in catalogue.failure_modes().items()
    }


def test_a_suggester_answers_from_the_default_table_alone():
    suggester = FaultSuggester.fit(
        pd.DataFrame({"symptoms": []}),
        [],
        expert_table=TABLE,
        rng=np.random.default_rng(1),
    )

    answer = suggester.suggest({"symptoms": "humming"})

    assert answer.ranked[0].cause == "contactor_chattering"
    assert answer.source == "from the expert table, 0 own cases"
