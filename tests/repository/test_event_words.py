"""Events of OCPP 2.x are words of the catalogue, with the links of their 1.6 word.

The table below is the agreed one, written out a second time on purpose. Components and
variables: OCPP 2.0.1 Part 2 appendices, secondary reading; the mapping is derived.
"""

from ingest import catalogue

# OCPP 1.6 words and the events that say the same.
EVENTS = {
    "ConnectorLockFailure": """
    ConnectorPlugRetentionLock/Problem ConnectorPlugRetentionLock/Tripped
    """,
    "EVCommunicationError": """
    CPPWMController/Problem CPPWMController/State CPPWMController/DCVoltage
    CPPWMController/Percentage
    """,
    "GroundFailure": """
    RCD/Tripped RCD/Operated GroundIsolationProtection/Problem
    GroundIsolationProtection/Impedance
    """,
    "HighTemperature": "TemperatureSensor/Problem TemperatureSensor/Temperature",
    "InternalError ResetFailure": "Controller/Problem Controller/SelftestActive",
    "OverCurrentFailure": "OverCurrentProtection/Active OverCurrentProtection/Operated",
    "OverVoltage UnderVoltage": "ElectricalFeed/Problem ElectricalFeed/ACVoltage",
    "PowerMeterFailure": "FiscalMetering/Problem",
    "PowerSwitchFailure": "PowerContactor/Problem PowerContactor/Tripped",
    "ReaderFailure": "TokenReader/Problem",
    "WeakSignal": "DataLink/Problem DataLink/SignalStrength",
    "": """
    Connector/Problem Connector/Tripped CableBreakawaySensor/Active
    CableBreakawaySensor/Tripped ELVSupply/Fallback Display/Problem
    EmergencyStopSensor/Active EmergencyStopSensor/Tripped FloodSensor/Active
    FloodSensor/Tripped HumiditySensor/Problem ShockSensor/Active TiltSensor/Active
    CaseAccessSensor/Problem CaseAccessSensor/Tripped ConnectorHolsterSensor/Problem
    EVRetentionLock/Problem UpstreamProtectionTrigger/Problem
    UpstreamProtectionTrigger/Tripped
    """,
}


def linked(word):
    """Return the rank of each mode that an error word points to."""
    return {
        link.mode: link.order
        for link in catalogue.evidence_links()
        if (link.kind, link.code) == ("error_word", word)
    }


def test_events_are_the_agreed_ones_and_none_besides():
    found = [word for word in catalogue.codes("charger_error_codes") if "/" in word]

    assert sorted(found) == sorted(
        w for words in EVENTS.values() for w in words.split()
    )


def test_an_event_points_to_what_its_1_6_words_point_to():
    for names, events in EVENTS.items():
        expected = {}
        for name in names.split():
            for mode, rank in linked(name).items():
                expected[mode] = min(rank, expected.get(mode, rank))
        for event in events.split():
            assert linked(event) == expected, event


def test_an_event_is_said_to_be_evidence_and_its_mapping_to_be_derived():
    for names, events in EVENTS.items():
        for event in events.split():
            row = catalogue.codes("charger_error_codes")[event]
            assert row.definition.endswith("intake evidence, never a root cause")
            assert all(name in row.definition for name in names.split())
            assert row.source.startswith("OCPP 2.0.1 component and variable names")
            assert row.source.endswith("mapping to 1.6 words derived") == bool(names)
