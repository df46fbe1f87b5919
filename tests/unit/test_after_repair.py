"""Which checks must pass before a repaired unit goes back; common practice."""

import pytest

from analytics.advice.after_repair import must_pass, still_to_pass
from analytics.advice.gate import JudgedReading
from ingest.catalogue import check_modes, checks, codes, failure_modes

TYPE_1 = {
    "connector": "type_1",
    "supply_system": "240",
    "ground_fault_device": "ccid20",
}
GATE = [check.code for check in checks().values() if check.gate]


def named(mode, disposition="repaired", context=TYPE_1, **rest):
    return {item.check: item for item in must_pass(mode, disposition, context, **rest)}


@pytest.mark.parametrize("mode", failure_modes())
def test_every_repair_repeats_the_gate_its_own_checks_and_a_charge(mode):
    found = named(mode, context={})
    own = {link.check for link in check_modes() if link.mode == mode and link.confirms}
    assert set(GATE) | own | {"charge_test"} <= set(found)
    assert list(found)[-1] == "charge_test"
    assert set(list(found)[: list(found).index("charge_test")]) >= set(GATE)


def test_points_and_reasons_are_told():
    found = named("contactor_welded")
    assert found["contactor_open"].points == ("L1", "L2")
    assert "confirms" in found["contactor_open"].why
    assert "repair resets" in found["supply_wiring"].why
    assert "second fault" in found["charge_test"].why


def test_a_new_part_asks_for_the_trips_the_unit_has():
    assert "ground_fault_trip_current" not in named("fuse_open")
    found = named("fuse_open", "part_replaced")
    assert "ground_fault_trip_current" in found
    assert "dc_trip_current" not in found
    direct = {**TYPE_1, "ground_fault_device": "rcd_a_30;rdc_dd_6"}
    assert "dc_trip_current" in named("fuse_open", "part_replaced", direct)


def test_what_comes_and_goes_asks_for_the_soak():
    assert "soak" not in named("fuse_open")
    assert "soak" in named("fuse_open", symptoms=["fails_when_wet"])
    assert "soak" in named("handle_pilot_open")


def test_a_check_of_the_other_connector_is_not_asked():
    assert "cable_coding" not in named("handle_proximity_resistor_fault")
    assert "cable_coding" in named("handle_proximity_resistor_fault", context={})


@pytest.mark.parametrize("disposition", ["unit_replaced", "scrapped"])
def test_what_does_not_go_back_has_nothing_to_pass(disposition):
    assert must_pass("fuse_open", disposition, TYPE_1) == ()


def test_returned_as_found_still_passes_the_gate_and_a_charge():
    found = named("no_fault_found", "returned_as_found")
    assert list(found) == [*[c for c in checks() if c in GATE], "charge_test"]


def test_only_readings_after_the_repair_count():
    wanted = must_pass("contactor_welded", "repaired", TYPE_1)
    before = [
        JudgedReading(i.check, "pass", "diagnosis", has_value=False) for i in wanted
    ]
    left = still_to_pass(wanted, before, TYPE_1)
    assert list(left.values()) == [None] * len(wanted)
    after = [
        JudgedReading(i.check, "pass", "after_repair", has_value=False) for i in wanted
    ]
    assert still_to_pass(wanted, [*before, *after], TYPE_1) == {}
    one_pole = JudgedReading("contactor_open", "pass", "after_repair", "L1", order=1.0)
    others = [item for item in after if item.check != "contactor_open"]
    (state,) = still_to_pass(wanted, [*others, one_pole], TYPE_1).values()
    assert (state.outcome, state.missing_points) == ("incomplete", ("L2",))


def test_the_supply_is_read_on_site():
    wanted = must_pass("supply_out_of_range", "repaired", TYPE_1)
    (supply,) = [item for item in wanted if item.check == "supply_voltage"]
    assert "on site" in supply.why
    site = JudgedReading("supply_voltage", "pass", "on_site")
    assert still_to_pass([supply], [site], TYPE_1) == {}


def test_unknown_words_are_refused():
    with pytest.raises(ValueError, match="no failure mode is called 'rust'"):
        must_pass("rust", "repaired", TYPE_1)
    with pytest.raises(ValueError, match="no disposition is called 'sold'"):
        must_pass("fuse_open", "sold", TYPE_1)
    assert set(codes("dispositions")) >= {"unit_replaced", "scrapped"}
