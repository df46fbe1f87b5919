"""The catalogue holds every agreed code and none besides, each with its source.

The lists below are the agreed ones, written out a second time on purpose: a code
that appears or disappears on one side only is a change of the records.
"""

import pytest

from ingest import catalogue

COMPONENTS = {
    "handle": """
    handle_pilot_open handle_pilot_leakage handle_power_crimp_overheated
    handle_earth_open handle_power_pin_overheated handle_signal_contact_poor
    handle_latch_broken handle_latch_jammed handle_latch_switch_stuck_open
    handle_latch_switch_stuck_closed handle_proximity_resistor_fault
    handle_housing_cracked handle_seal_leak
    """,
    "cable": """
    cable_pilot_open cable_pilot_leakage cable_power_open cable_earth_open
    cable_jacket_damaged cable_insulation_low cable_strain_relief_failed
    """,
    "supply_connection": """
    supply_terminal_overheated supply_miswired supply_plug_overheated
    supply_out_of_range
    """,
    "power_path": """
    contactor_welded contactor_not_closing contactor_high_resistance
    contactor_chattering contactor_driver_fault contact_monitor_fault
    output_terminal_overheated fuse_open surge_protector_failed
    current_sensor_drift
    """,
    "protection": """
    ground_fault_nuisance_trip ground_fault_no_trip dc_leakage_detector_fault
    earth_monitor_fault
    """,
    "control": """
    control_supply_failed control_board_dead pilot_generator_fault
    pilot_sense_fault temperature_sensor_fault configuration_wrong
    internal_connector_loose firmware_fault indicator_failed
    communication_module_failed meter_fault reader_fault
    """,
    "enclosure": """enclosure_water_ingress enclosure_damaged holster_damaged""",
    "outside": """vehicle_side_fault no_fault_found""",
}
GROUPS = {
    "handle_cable_heat": """
    handle_power_pin_overheated handle_power_crimp_overheated cable_power_open
    output_terminal_overheated
    """,
    "handle_cable_pilot": """
    handle_pilot_open handle_pilot_leakage handle_signal_contact_poor
    cable_pilot_open cable_pilot_leakage
    """,
    "handle_cable_latch": """
    handle_latch_broken handle_latch_jammed handle_latch_switch_stuck_open
    handle_latch_switch_stuck_closed handle_proximity_resistor_fault
    """,
    "handle_cable_earth": """
    handle_earth_open handle_housing_cracked handle_seal_leak cable_earth_open
    cable_jacket_damaged cable_insulation_low cable_strain_relief_failed
    """,
}
MECHANISMS = """
    corrosion fatigue_fracture overheating wear contamination water_ingress
    insulation_breakdown solder_joint_crack loosening sticking deformation drift
    leakage impact electrical_overstress software unknown
    """
SYMPTOMS = """
    no_power_indication fault_indicator_on vehicle_not_detected
    charge_does_not_start charge_stops_early stops_when_cable_moved
    works_when_cable_moved fails_when_wet fails_when_hot handle_hot
    burning_smell breaker_trips ground_fault_trips_at_once
    ground_fault_trips_sometimes upstream_device_trips current_reduced
    latch_does_not_lock latch_does_not_release
    charge_continues_when_latch_pressed sparks_at_unplug handle_live_when_off
    relay_stuck_shown earth_fault_shown reader_dead offline restarts_or_freezes
    meter_wrong relay_clicks_no_charge no_relay_click supply_plug_hot
    display_dead humming one_phase_missing none_reported
    """
FINDINGS = """
    pin_corrosion pin_discoloured terminal_discoloured housing_damaged
    cable_damaged latch_damaged water_inside contamination_inside
    strain_relief_missing conductor_loose conductor_on_wrong_terminal
    internal_connector_unplugged seal_missing surge_indicator_tripped
    earlier_repair_seen label_missing clean
    """
CHECKS = {
    "dead": """
    settings_and_log=5 proved_dead=3 visual_inspection=5 latch_operation=2
    internal_connectors_seated=3 supply_wiring=3 supply_terminals=5
    fuse_continuity=3 earth_continuity=3 contactor_open=5 pilot_continuity=5
    core_localisation=20 line_continuity=3 contactor_coil=3
    proximity_latch_at_rest=1 proximity_latch_pressed=1 cable_coding=2
    temperature_sensor_offset=3
    """,
    "dead_500v": """
    insulation_resistance=15 pilot_insulation=4 surge_protector_test=5
    """,
    "extra_low_voltage": """path_resistance=8 contact_resistance=8""",
    "live": """
    contactor_close=5 supply_voltage=3 supply_simulation=10
    control_supply_voltage=5 pilot_voltage_terminals=2 pilot_voltage_handle=2
    pilot_voltage_state_b=3 pilot_voltage_state_c=3 pilot_negative_level=2
    pilot_frequency=2 pilot_duty=2 pilot_state_recognised=5 coil_drive=6
    output_voltage_by_state=10 earth_monitor_test=10 standing_leakage=5
    ground_fault_trip_current=10 ground_fault_trip_time=10 dc_trip_current=5
    dc_trip_time=5 current_reading=10 energy_reading=30
    handle_temperature_rise=60 boot_and_communication=10 soak=15 charge_test=15
    """,
}
GATE = """
    proved_dead visual_inspection supply_wiring earth_continuity
    insulation_resistance contactor_open
    """
CAUSES = """
    design manufacturing installation handling environment wear_out repair
    software_or_setting outside unknown
    """
CRITICAL = """
    contactor_welded ground_fault_no_trip dc_leakage_detector_fault
    earth_monitor_fault handle_earth_open cable_earth_open cable_insulation_low
    supply_miswired handle_latch_switch_stuck_closed contact_monitor_fault
    cable_jacket_damaged handle_power_crimp_overheated handle_power_pin_overheated
    supply_terminal_overheated supply_plug_overheated output_terminal_overheated
    """
NO_FAILURE = "vehicle_side_fault supply_out_of_range supply_miswired no_fault_found"
FIELDS = {
    "environments": "indoor sheltered exposed coastal",
    "duties": "private shared workplace public depot",
    "connectors": "type_1 type_2",
    "supply_connections": "plug fixed",
    "supply_systems": "120 208 240 230 230_400",
    "ground_fault_devices": "ccid5 ccid20 rcd_a_30 rdc_dd_6",
    "dispositions": "repaired part_replaced unit_replaced scrapped returned_as_found",
    "stages": "on_site intake diagnosis after_repair",
    "conditions": "still flexed wet hot cold",
    "outcomes": "pass fail not_done",
    "severities": "critical degraded incipient",
    "hazards": "dead dead_500v extra_low_voltage live",
}
# OCPP 1.6, ChargePointErrorCode.
WORDS = """
    ConnectorLockFailure EVCommunicationError GroundFailure HighTemperature
    InternalError LocalListConflict NoError OtherError OverCurrentFailure OverVoltage
    PowerMeterFailure PowerSwitchFailure ReaderFailure ResetFailure UnderVoltage
    WeakSignal
    """


def of(words):
    return set(words.split())


def everything():
    for kind in catalogue.CODE_KINDS:
        yield from ((kind, row) for row in catalogue.codes(kind).values())
    yield from (("failure_modes", row) for row in catalogue.failure_modes().values())


def test_every_failure_mode_stands_under_its_component_and_none_besides():
    found = {}
    for mode in catalogue.failure_modes().values():
        found.setdefault(mode.component, set()).add(mode.code)
    assert found == {name: of(words) for name, words in COMPONENTS.items()}
    assert set(catalogue.codes("components")) == set(COMPONENTS)


def test_watch_groups_of_handle_and_cable_hold_their_modes_and_others_their_component():
    grouped = {mode: name for name, words in GROUPS.items() for mode in of(words)}
    for mode in catalogue.failure_modes().values():
        assert mode.watch_group == grouped.get(mode.code, mode.component)


def test_critical_modes_are_the_agreed_ones():
    modes = catalogue.failure_modes().values()
    assert {m.code for m in modes if m.severity == "critical"} == of(CRITICAL)
    assert {m.severity for m in modes} == set(catalogue.codes("severities"))


def test_four_returns_are_no_failure_of_the_unit():
    modes = catalogue.failure_modes().values()
    assert {m.code for m in modes if not m.is_failure} == of(NO_FAILURE)


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("mechanisms", MECHANISMS),
        ("cause_categories", CAUSES),
        ("symptoms", SYMPTOMS),
        ("findings", FINDINGS),
        *FIELDS.items(),
    ],
)
def test_a_list_holds_every_agreed_code_and_none_besides(kind, words):
    assert set(catalogue.codes(kind)) == of(words)


def test_error_words_are_those_of_the_protocol_and_the_26_consortium_codes():
    expected = of(WORDS) | {f"CX{n:03d}" for n in range(1, 27)}
    # The events of OCPP 2.x, component/variable, are in test_event_words.py.
    found = {word for word in catalogue.codes("charger_error_codes") if "/" not in word}
    assert found == expected


def test_every_check_has_the_agreed_hazard_and_minutes():
    agreed = {}
    for hazard, words in CHECKS.items():
        for word in words.split():
            code, minutes = word.split("=")
            agreed[code] = (hazard, float(minutes))
    found = {c.code: (c.hazard, c.minutes) for c in catalogue.checks().values()}
    assert found == agreed


def test_the_gate_is_exactly_the_six_agreed_checks():
    gate = {c.code for c in catalogue.checks().values() if c.gate}
    assert gate == of(GATE)
    assert len(gate) == 6


def test_only_insulation_waits_for_another_check():
    needs = {c.code: c.needs for c in catalogue.checks().values() if c.needs}
    assert needs == {"insulation_resistance": "earth_continuity"}


def test_three_checks_belong_to_one_connector():
    only = {c.code: c.connector for c in catalogue.checks().values() if c.connector}
    assert only == {
        "proximity_latch_at_rest": "type_1",
        "proximity_latch_pressed": "type_1",
        "cable_coding": "type_2",
    }


def test_every_code_has_label_definition_and_source():
    for kind, row in everything():
        assert row.label, (kind, row.code)
        assert row.definition, (kind, row.code)
        assert row.source, (kind, row.code)


def test_no_source_points_into_a_folder_or_at_a_private_number():
    rows = [row for _, row in everything()]
    rows += [*catalogue.checks().values(), *catalogue.check_modes()]
    for row in rows:
        assert "shared" not in row.source
        assert ".md" not in row.source
        assert "/work" not in row.source


def test_every_link_names_a_known_check_and_mode_once():
    links = catalogue.check_modes()
    pairs = [(link.check, link.mode) for link in links]
    assert len(set(pairs)) == len(pairs)
    for link in links:
        assert link.check in catalogue.checks()
        assert link.mode in catalogue.failure_modes()
        assert 0 < link.p_fail < 1
        assert link.source


def test_every_mode_but_two_outcomes_of_the_whole_protocol_has_a_confirming_check():
    confirmed = {link.mode for link in catalogue.check_modes() if link.confirms}
    unconfirmed = set(catalogue.failure_modes()) - confirmed
    assert unconfirmed == {"vehicle_side_fault", "no_fault_found"}


def test_every_evidence_link_joins_a_known_word_to_a_known_mode():
    lists = {
        "symptom": "symptoms",
        "finding": "findings",
        "error_word": "charger_error_codes",
    }
    for link in catalogue.evidence_links():
        assert link.code in catalogue.codes(lists[link.kind]), link
        assert link.mode in catalogue.failure_modes(), link


def test_the_ranks_of_every_word_start_at_one_and_leave_no_gap():
    ranks = {}
    for link in catalogue.evidence_links():
        ranks.setdefault((link.kind, link.code), set()).add(link.order)
    for word, found in ranks.items():
        assert found == set(range(1, max(found) + 1)), word


def test_every_symptom_but_none_reported_points_somewhere():
    linked = {e.code for e in catalogue.evidence_links() if e.kind == "symptom"}
    assert set(catalogue.codes("symptoms")) - linked == {"none_reported"}


def test_every_failure_of_the_unit_is_pointed_to_by_some_evidence():
    linked = {link.mode for link in catalogue.evidence_links()}
    failures = {m.code for m in catalogue.failure_modes().values() if m.is_failure}
    assert failures <= linked
