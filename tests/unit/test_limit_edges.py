"""Each limit of the trade: a reading at it, just inside and just outside.

Common practice, no source: every limit here is a proposal of the trade that nobody
printed, and the judged reading says so.
"""

import pytest

from tests.limit_edges import NO_SOURCE, UNDEFINED, Edge, hold, judged

EARTH = (
    "0.1 ohm plus conductor resistance: UK Code of Practice, from memory; thin"
    f" conductors VDE 0701-0702, secondary reading; change on flexing {NO_SOURCE}"
)
CODING = f"IEC 61851-1 cable coding, secondary reading; 10 % {NO_SOURCE}"
NO_SIZE = "cable length or conductor area not recorded"
# 14.5 m of 2.5 mm2 pass up to 0.2 ohm.
EARTH_CABLE = {"cable_length_m": 14.5, "earth_area_mm2": 2.5}
BOTH = {"cable_length_m": 5.8, "conductor_area_mm2": 5, "earth_area_mm2": 2.5}


def flexed(still_ohm):
    return EARTH_CABLE | {"condition": "flexed", "still_ohm": still_ohm}


def cable(length_m, others=None):
    """Return a cable of 5 mm2: 10 mohm for each 2.9 m of it (copper, IEC 60028)."""
    size = {"cable_length_m": length_m, "conductor_area_mm2": 5}
    return size | {"other_poles_mohm": others}


def core(point, **more):
    return {"point": point} | more


def rated(current_a, phases=None):
    return {"rated_current_a": current_a, "phases": phases}


NEVER_PASSES = ("undefined", "undefined", "undefined")
CHANGED = ("fail", "pass", "fail")

# Columns: check, the unit's facts, at, inside, outside, unit, source.
EDGES = [
    Edge("fuse_continuity", {}, 1, 0.99, 1.01, "ohm", NO_SOURCE),
    Edge("pilot_continuity", {}, 1, 0.99, 1.01, "ohm", NO_SOURCE),
    Edge("pilot_insulation", {}, 1, 1.01, 0.99, "Mohm", NO_SOURCE),
    Edge("line_continuity", {}, 0.3, 0.29, 0.31, "ohm", NO_SOURCE),
    Edge("contact_resistance", {}, 5, 4.9, 5.1, "mohm", NO_SOURCE),
    Edge("contactor_close", {}, 5, 4.9, 5.1, "mohm", NO_SOURCE),
    Edge("temperature_sensor_offset", {}, 3, 2.9, 3.1, "K", NO_SOURCE),
    Edge("temperature_sensor_offset", {}, -3, -2.9, -3.1, "K", NO_SOURCE),
    Edge("current_reading", {}, 5, 4.9, 5.1, "%", NO_SOURCE),
    Edge("current_reading", {}, -5, -4.9, -5.1, "%", NO_SOURCE),
    Edge("energy_reading", {}, 2, 1.9, 2.1, "%", NO_SOURCE),
    Edge("energy_reading", {}, -2, -1.9, -2.1, "%", NO_SOURCE),
    # Change on flexing below 0.02 ohm: 0.02 is a change.
    Edge("earth_continuity", flexed(0.1), 0.12, 0.119, 0.121, "ohm", EARTH, CHANGED),
    Edge("earth_continuity", flexed(0.1), 0.08, 0.081, 0.079, "ohm", EARTH, CHANGED),
    Edge("earth_continuity", flexed(0.19), 0.2, 0.199, 0.201, "ohm", EARTH),
    # Welded below 10 ohm, good from 1 000 000 ohm or the model's value, else neither.
    Edge("contactor_open", {}, 10, 10.1, 9.99, "ohm", NO_SOURCE, UNDEFINED),
    Edge(
        "contactor_open", {}, 1_000_000, 1_000_001, 999_999, "ohm", NO_SOURCE,
        ("pass", "pass", "undefined"),
    ),
    Edge(
        "contactor_open", {"contactor_open_ohm": 20_000}, 20, 20.1, 19.9, "kohm",
        NO_SOURCE, ("pass", "pass", "undefined"),
    ),
    Edge(
        "contactor_open", {"contactor_open_ohm": 20_000}, 10, 10.1, 9.99, "ohm",
        NO_SOURCE, UNDEFINED,
    ),
    *(
        Edge("control_supply_voltage", {"control_supply_v": own}, *row, "V", NO_SOURCE)
        for own, row in (
            (12, (11.4, 11.41, 11.39)), (12, (12.6, 12.59, 12.61)),
            (5, (4.75, 4.76, 4.74)), (5, (5.25, 5.24, 5.26)),
            (3.3, (3.135, 3.136, 3.134)), (24, (25.2, 25.1, 25.3)),
        )
    ),
    Edge(
        "control_supply_voltage", {}, 12, 11.4, 0, "V", NO_SOURCE, NEVER_PASSES,
        "the model's electronics supply is not known",
    ),
    *(
        Edge("contactor_coil", {"coil_ohm": own}, *row, "ohm", NO_SOURCE)
        for own, row in (
            (500, (400, 400.1, 399.9)), (500, (600, 599.9, 600.1)),
            (61, (48.8, 48.9, 48.7)), (61, (73.2, 73.1, 73.3)),
        )
    ),
    Edge(
        "contactor_coil", {}, 1_000_000, 500, 1_000_001, "ohm", NO_SOURCE, UNDEFINED,
        "the model's coil resistance is not known",
    ),
    # 10 mohm + 15 % + 2 mohm; 20 mohm + 15 % + 2 = 5 mohm; 40 mohm + at most 5 mohm.
    Edge("path_resistance", cable(2.9), 13.5, 13.4, 13.6, "mohm", NO_SOURCE),
    Edge("path_resistance", cable(5.8), 25, 24.9, 25.1, "mohm", NO_SOURCE),
    Edge("path_resistance", cable(11.6), 45, 44.9, 45.1, "mohm", NO_SOURCE),
    # Poles alike within 20 % and within 5 mohm of the best of the others.
    Edge("path_resistance", cable(2.9, [10, 11]), 12, 11.9, 12.1, "mohm", NO_SOURCE),
    Edge("path_resistance", cable(11.6, [38]), 43, 42.9, 43.1, "mohm", NO_SOURCE),
    Edge(
        "path_resistance", {}, 12, 0.1, 500, "mohm", NO_SOURCE, NEVER_PASSES, NO_SIZE
    ),
    Edge(
        "path_resistance", {"other_poles_mohm": [10]}, 12, 11.9, 12.1, "mohm",
        NO_SOURCE, UNDEFINED, "against the other poles at most 12 mohm",
    ),
    Edge("core_localisation", core("CP"), 1, 0.99, 1.01, "ohm", NO_SOURCE),
    Edge("core_localisation", core("PP"), 1, 0.99, 1.01, "ohm", NO_SOURCE),
    Edge(
        "core_localisation", core("PE", **EARTH_CABLE), 0.2, 0.199, 0.201, "ohm",
        NO_SOURCE,
    ),
    Edge(
        "core_localisation", core("PE"), 0.1415, 0.141, 0.142, "ohm", NO_SOURCE,
        words="cable length not recorded, 5 m taken",
    ),
    Edge("core_localisation", core("L1", **BOTH), 25, 24.9, 25.1, "mohm", NO_SOURCE),
    Edge("core_localisation", core("N", **BOTH), 25, 24.9, 25.1, "mohm", NO_SOURCE),
    Edge(
        "core_localisation", core("L2"), 1, -0.001, 1.01, "ohm", NO_SOURCE, UNDEFINED,
        NO_SIZE,
    ),
    Edge(
        "core_localisation", core(None, **BOTH), 25, 24.9, 25.1, "mohm", NO_SOURCE,
        words="core not named, the strictest limit taken",
    ),
    Edge(
        "core_localisation", {}, 1, 0.1, 1.01, "ohm", NO_SOURCE, UNDEFINED,
        f"core not named; {NO_SIZE}",
    ),
    *(
        Edge("cable_coding", context, at, inside, outside, "ohm", CODING)
        for context, low, high in (
            (rated(13), 1350, 1650), (rated(13.1), 612, 748), (rated(20), 612, 748),
            (rated(20.1), 198, 242), (rated(32), 198, 242), (rated(32.1), 90, 110),
            (rated(63), 90, 110), (rated(63, 3), 90, 110), (rated(70, 1), 90, 110),
        )
        for at, inside, outside in (
            (low, low + 0.1, low - 0.1), (high, high - 0.1, high + 0.1),
        )
    ),
    *(
        Edge("cable_coding", facts, 90, 90.1, 89.9, "ohm", CODING, UNDEFINED, words)
        for facts, words in (
            ({}, "rated current not recorded"),
            (rated(70.1, 1), "above every coding"),
            (rated(63.1, 3), "above every coding"),
            (rated(63.1), "phases not recorded, and three-phase this is above every"),
        )
    ),
]  # fmt: skip

BEYOND = [
    ("contactor_open", {}, "<10", "ohm", "fail"),
    ("contactor_open", {}, "<10.1", "ohm", "undefined"),
    ("contactor_open", {}, ">9.9", "ohm", "undefined"),
    ("contactor_open", {}, ">10", "ohm", "undefined"),
    ("contactor_open", {}, "<1000000", "ohm", "undefined"),
    ("contactor_open", {}, ">1", "Mohm", "pass"),
    ("contactor_open", {}, "OL", "ohm", "pass"),
    ("fuse_continuity", {}, "<1", "ohm", "pass"),
    ("fuse_continuity", {}, ">1", "ohm", "fail"),
    ("fuse_continuity", {}, ">0.9", "ohm", "undefined"),
    ("contact_resistance", {}, "OL", "mohm", "fail"),
    ("path_resistance", cable(2.9), ">13.5", "mohm", "fail"),
    ("path_resistance", {}, "OL", "mohm", "undefined"),
    ("cable_coding", rated(20), ">748", "ohm", "fail"),
    ("cable_coding", rated(20), "<748", "ohm", "undefined"),
    ("contactor_coil", {}, "OL", "ohm", "fail"),
    ("earth_continuity", flexed(0.1), "<0.12", "ohm", "undefined"),
    ("earth_continuity", flexed(0.1), ">0.12", "ohm", "fail"),
]  # fmt: skip


@pytest.mark.parametrize("edge", EDGES, ids=str)
def test_a_reading_at_inside_and_outside_a_limit_of_the_trade(edge):
    assert NO_SOURCE in edge.source
    hold(edge)


@pytest.mark.parametrize(("check", "context", "shown", "unit", "outcome"), BEYOND)
def test_a_reading_beyond_the_range_is_judged_by_all_it_may_be(
    check, context, shown, unit, outcome
):
    assert judged(check, shown, unit, context).outcome == outcome


@pytest.mark.parametrize(("mohm", "watched"), [(1.9, False), (2, True), (5, True)])
def test_a_contact_is_watched_from_2_mohm_on(mohm, watched):
    found = judged("contact_resistance", mohm, "mohm", {})

    assert found.outcome == "pass"
    assert ("watch it" in found.meaning) == watched
