"""The rules of labels agree with the rest of the catalogue."""

import pytest

from ingest import catalogue


def test_what_backs_a_mode_is_what_confirms_it():
    backs = {
        (rule.check, rule.mode)
        for rule in catalogue.label_rules()
        if rule.role == "backs"
    }

    assert backs == {
        (link.check, link.mode) for link in catalogue.check_modes() if link.confirms
    }


def test_every_mode_has_a_rule_but_the_outcomes_of_the_whole_protocol():
    modes = {rule.mode for rule in catalogue.label_rules()}

    assert set(catalogue.failure_modes()) - modes == {
        "no_fault_found",
        "vehicle_side_fault",
    }


@pytest.mark.parametrize(
    ("name", "known"),
    [
        ("check", set(catalogue.checks())),
        ("role", {"backs", "fails_out", "passes_out", "together_out"}),
        ("side", {None, "low", "high"}),
        ("counts", {"last", "ever", "gone"}),
        ("stages", {"bench", "on_site", "any"}),
        ("source", {"common practice, no source"}),
    ],
)
def test_every_word_of_a_rule_is_known(name, known):
    assert {getattr(rule, name) for rule in catalogue.label_rules()} <= known


def test_no_rule_stands_twice():
    keys = [(rule.mode, rule.check, rule.role) for rule in catalogue.label_rules()]

    assert len(keys) == len(set(keys))


def test_the_protocol_holds_every_gate_check():
    gates = {check.code for check in catalogue.checks().values() if check.gate}

    assert gates <= {step.check for step in catalogue.protocol()}


def test_every_step_of_the_protocol_is_a_check_with_a_source():
    for step in catalogue.protocol():
        assert step.check in catalogue.checks()
        assert step.result in ("passed", "not_failed")
        assert step.source == "common practice, no source"
