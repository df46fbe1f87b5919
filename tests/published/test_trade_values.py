"""Values a charger technician knows by heart, as the bench judges and explains them.

Data    no data set; single readings.
Values    12 V from pilot to earth with no vehicle is good at the board and at the
    handle; just under 150 ohm at rest and 473 ohm pressed are good for a network of
    150 and 330 ohm; a plug inside left off by whoever opened the unit explains a dead
    indicator; a neutral used as earth is a fault whatever else works.
Read    common practice, no source; 480 = 150 + 330 is arithmetic.
Digits    as said in the trade.
"""

import numpy as np
import pandas as pd
import pytest

from analytics.advice.bench_state import bench_state
from analytics.advice.expert_table import default_expert_table
from analytics.advice.gate import JudgedReading
from analytics.advice.readings import evaluate_reading
from analytics.advice.suggest import FaultSuggester
from ingest.catalogue import checks, evidence_links

TYPE_1 = {"connector": "type_1"}


def outcome(check, value, unit):
    found = evaluate_reading(check, value, unit, stage="diagnosis", context=TYPE_1)
    return found.outcome


@pytest.mark.parametrize("check", ["pilot_voltage_terminals", "pilot_voltage_handle"])
def test_twelve_volts_without_a_vehicle_is_good_at_board_and_handle(check):
    assert outcome(check, 12, "V") == "pass"
    assert outcome(check, 0, "V") == "fail"


@pytest.mark.parametrize(
    ("check", "value", "found"),
    [
        ("proximity_latch_at_rest", 149, "pass"),
        ("proximity_latch_at_rest", 148.5, "pass"),
        ("proximity_latch_at_rest", 473, "fail"),
        ("proximity_latch_pressed", 473, "pass"),
        ("proximity_latch_pressed", 150 + 330, "pass"),
        ("proximity_latch_pressed", 149, "fail"),
    ],
)
def test_the_network_of_150_and_330_ohm(check, value, found):
    assert outcome(check, value, "ohm") == found


def test_a_plug_left_off_inside_explains_a_dead_display_first():
    first = [
        link.mode
        for link in evidence_links()
        if (link.kind, link.code, link.order) == ("symptom", "display_dead", 1)
    ]
    assert first == ["internal_connector_loose"]


def test_with_the_plug_found_off_it_leads_before_any_own_case():
    suggester = FaultSuggester.fit(
        pd.DataFrame({"symptoms": []}),
        [],
        expert_table=default_expert_table(),
        rng=np.random.default_rng(1),
    )
    found = suggester.suggest(
        {"symptoms": "display_dead", "intake_findings": "internal_connector_unplugged"}
    )
    assert found.ranked[0].cause == "internal_connector_loose"


def test_a_neutral_used_as_earth_is_a_fault_whatever_else_works():
    gate = [code for code, check in checks().items() if check.gate]
    passed = [
        JudgedReading(code, "pass", "diagnosis", has_value=False) for code in gate
    ]
    found = bench_state(passed, TYPE_1, findings=["conductor_on_wrong_terminal"])
    assert not found.gate_is_open
    assert "whatever else works" in found.gate[0].why
    linked = {
        link.mode
        for link in evidence_links()
        if (link.kind, link.code) == ("finding", "conductor_on_wrong_terminal")
    }
    assert "supply_miswired" in linked
