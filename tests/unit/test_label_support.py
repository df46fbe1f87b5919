"""What backs a confirmed mode and what rules it out, on cases made by hand.

Which check confirms which mode, and what must be good beside it: common practice, no
source.
"""

import pytest

from tests.judged_cases import FLEXED, UNIT, support_of
from tests.judged_cases import typed as r


def test_without_a_reading_nothing_backs_a_label():
    assert support_of("fuse_open") == (
        "unbacked",
        None,
        None,
        "no reading proves fuse_open or speaks against it",
    )


def test_a_confirming_check_that_failed_backs_and_is_named():
    assert support_of("fuse_open", r("fuse_continuity", "OL ohm", "F1")) == (
        "backed",
        "fuse_continuity",
        None,
        "fuse_continuity failed, which confirms fuse_open",
    )


def test_a_confirming_check_that_passed_contradicts_and_is_named():
    assert support_of("fuse_open", r("fuse_continuity", "0.1 ohm", "F1")) == (
        "contradicted",
        None,
        "fuse_continuity",
        "fuse_continuity passed, which speaks against fuse_open",
    )


OPEN_PILOT = r("pilot_continuity", "OL ohm", "CP", **FLEXED)
GOOD_PILOT = r("pilot_continuity", "0.4 ohm", "CP", **FLEXED)
OPEN_EARTH = r("earth_continuity", "9 ohm", "handle", **FLEXED)
TYPE_2 = UNIT | {"connector": "type_2", "phases": 3, "supply_system": "230_400"}
EXAMPLES = {
    "a core that fails is no joint": (
        "handle_pilot_open", "contradicted",
        OPEN_PILOT, r("core_localisation", "OL ohm", "CP"),
    ),
    "a core that passes leaves the joint": (
        "handle_pilot_open", "backed",
        OPEN_PILOT, r("core_localisation", "0.3 ohm", "CP"),
    ),
    "a core that passes is not broken": (
        "cable_pilot_open", "contradicted",
        OPEN_PILOT, r("core_localisation", "0.3 ohm", "CP"),
    ),
    "a core that fails is broken": (
        "cable_pilot_open", "backed",
        OPEN_PILOT, r("core_localisation", "OL ohm", "CP"),
    ),
    "another core says nothing of this one": (
        "cable_pilot_open", "backed",
        OPEN_PILOT, r("core_localisation", "0.03 ohm", "PE"),
    ),
    "earth core tells handle from cable": (
        "cable_earth_open", "contradicted",
        OPEN_EARTH, r("core_localisation", "0.03 ohm", "PE"),
    ),
    "a pass at rest does not rule out what comes with movement": (
        "handle_pilot_open", "unbacked",
        r("pilot_continuity", "0.4 ohm", "CP", condition="still"),
    ),
    "a pass while flexed does": ("handle_pilot_open", "contradicted", GOOD_PILOT),
    "a pass at rest does not undo a fail while flexed": (
        "handle_pilot_open", "backed",
        OPEN_PILOT,
        r("pilot_continuity", "0.4 ohm", "CP", condition="still", sequence=2),
    ),
    "the last reading of a point counts": (
        "fuse_open", "contradicted",
        r("fuse_continuity", "OL ohm", "F1"),
        r("fuse_continuity", "0.1 ohm", "F1", sequence=2),
    ),
    "a fail at intake stands beside a pass in diagnosis": (
        "fuse_open", "backed",
        r("fuse_continuity", "OL ohm", "F1", stage="intake"),
        r("fuse_continuity", "0.1 ohm", "F1", sequence=2),
    ),
    "readings after the repair say nothing": (
        "fuse_open", "unbacked",
        r("fuse_continuity", "0.1 ohm", "F1", stage="after_repair"),
    ),
    "nor do those of the bench on a later day": (
        "fuse_open", "backed",
        r("fuse_continuity", "OL ohm", "F1"),
        r("proved_dead", "pass", stage="after_repair", taken_at="2025-06-02"),
        r("fuse_continuity", "0.1 ohm", "F2", taken_at="2025-06-03"),
    ),
    "readings on site say nothing of most modes": (
        "fuse_open", "unbacked",
        r("fuse_continuity", "OL ohm", "F1", stage="on_site"),
    ),
    "but they show the supply": (
        "supply_out_of_range", "backed",
        r("supply_voltage", "270 V", "L1-L2", stage="on_site"),
    ),
    "which the bench cannot": (
        "supply_out_of_range", "unbacked",
        r("supply_voltage", "270 V", "L1-L2"),
    ),
    "a lead that passes on the bench proves nothing": (
        "supply_miswired", "unbacked", r("supply_wiring", "pass"),
    ),
    "one that passes on site does": (
        "supply_miswired", "contradicted",
        r("supply_wiring", "pass", stage="on_site"),
    ),
    "not every pole read, not ruled out": (
        "contactor_welded", "unbacked", r("contactor_open", "OL ohm", "L1"),
    ),
    "every pole read and open, not welded": (
        "contactor_welded", "contradicted",
        r("contactor_open", "OL ohm", "L1"), r("contactor_open", "OL ohm", "L2"),
    ),
    "one welded pole is enough": (
        "contactor_welded", "backed",
        r("contactor_open", "OL ohm", "L1"), r("contactor_open", "0.1 ohm", "L2"),
    ),
    "between the windows neither": (
        "contactor_welded", "unbacked",
        r("contactor_open", "5000 ohm", "L1"), r("contactor_open", "OL ohm", "L2"),
    ),
    "an outcome without a point speaks for all": (
        "contactor_welded", "contradicted", r("contactor_open", "pass"),
    ),
    "a value without a point speaks for one": (
        "contactor_welded", "unbacked", r("contactor_open", "OL ohm"),
    ),
    "a coil that is open backs a contactor that does not close": (
        "contactor_not_closing", "backed", r("contactor_coil", "OL ohm", "coil"),
    ),
    "one that closes does": (
        "contactor_not_closing", "contradicted",
        r("contactor_coil", "OL ohm", "coil"), r("contactor_close", "pass"),
    ),
    "one of several ways to confirm passed, the others open": (
        "pilot_generator_fault", "unbacked", r("pilot_negative_level", "-12 V"),
    ),
    "the electronics supply explains a dead board": (
        "control_board_dead", "contradicted",
        r("boot_and_communication", "fail"), r("control_supply_voltage", "fail"),
    ),
    "a low trip current is a nuisance": (
        "ground_fault_nuisance_trip", "backed",
        r("ground_fault_trip_current", "8 mA"),
    ),
    "a high one is not": (
        "ground_fault_nuisance_trip", "contradicted",
        r("ground_fault_trip_current", ">45 mA"),
    ),
    "a high one is no trip": (
        "ground_fault_no_trip", "backed", r("ground_fault_trip_current", ">45 mA"),
    ),
    "real leakage is no nuisance": (
        "ground_fault_nuisance_trip", "contradicted",
        r("ground_fault_trip_current", "8 mA"), r("standing_leakage", "6 mA"),
    ),
    "switch stuck open stays near 480 at rest": (
        "handle_latch_switch_stuck_open", "backed",
        r("proximity_latch_at_rest", "480 ohm"),
        r("proximity_latch_pressed", "480 ohm"),
    ),
    "near 150 pressed is stuck closed, not open": (
        "handle_latch_switch_stuck_open", "contradicted",
        r("proximity_latch_at_rest", "150 ohm"),
        r("proximity_latch_pressed", "150 ohm"),
    ),
    "one good proximity reading leaves the resistor good": (
        "handle_proximity_resistor_fault", "contradicted",
        r("proximity_latch_at_rest", "480 ohm"),
        r("proximity_latch_pressed", "480 ohm"),
    ),
    "both out is the resistor": (
        "handle_proximity_resistor_fault", "backed",
        r("proximity_latch_at_rest", "OL ohm"),
        r("proximity_latch_pressed", "OL ohm"),
    ),
    "a contact may be better after cleaning": (
        "handle_signal_contact_poor", "backed",
        r("pilot_continuity", "9 ohm", "CP", **FLEXED),
        r("pilot_continuity", "0.4 ohm", "CP", sequence=2, **FLEXED),
    ),
    "software may pass after loading": (
        "firmware_fault", "backed",
        r("boot_and_communication", "fail"),
        r("boot_and_communication", "pass", sequence=2),
    ),
    "insulation good again with the protector lifted off": (
        "surge_protector_failed", "backed",
        r("insulation_resistance", "0.2 Mohm", "supply-PE"),
        r("insulation_resistance", "200 Mohm", "supply-PE", sequence=2),
    ),
    "insulation that stays low is not the protector's": (
        "surge_protector_failed", "unbacked",
        r("insulation_resistance", "0.2 Mohm", "supply-PE"),
    ),
    "not done says nothing": (
        "surge_protector_failed", "unbacked", r("surge_protector_test", "not_done"),
    ),
    "damage that shuts no gate passes inspection": (
        "handle_housing_cracked", "unbacked", r("visual_inspection", "pass"),
    ),
    "any fail speaks against no fault found": (
        "no_fault_found", "contradicted", r("latch_operation", "fail"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", EXAMPLES)
def test_by_example(name):
    mode, expected, *readings = EXAMPLES[name]

    assert support_of(mode, *readings)[0] == expected, name


def test_a_check_of_the_other_connector_is_not_waited_for():
    readings = (r("cable_coding", "220 ohm", "PP"), GOOD_PILOT)
    earth = r("earth_continuity", "0.05 ohm", "handle", **FLEXED)

    found = support_of("handle_signal_contact_poor", *readings, earth, unit=TYPE_2)

    assert found[0] == "contradicted"
    assert found[2] == "cable_coding; earth_continuity; pilot_continuity"
