"""Readings judged all at once come out as readings judged one by one."""

import contextlib
import datetime as dt
import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.advice import judging
from analytics.advice.readings import evaluate_reading, limit_of
from ingest.catalogue import checks, codes
from ingest.measures import convertible_units
from tests.judged_cases import judged_tables, table
from tests.published.test_limit_edges import EDGES as SOURCED
from tests.unit.test_limit_edges import EDGES as OF_THE_TRADE

UNIT = {
    "connector": st.sampled_from([None, *codes("connectors")]),
    "phases": st.sampled_from([None, 1, 3]),
    "supply_system": st.sampled_from([None, *codes("supply_systems")]),
    "ground_fault_device": st.sampled_from(
        [None, *codes("ground_fault_devices"), "rcd_a_30;rdc_dd_6"]
    ),
    "cable_length_m": st.sampled_from([None, 0.0, 2.5, 5.0, 7.6, 20.0]),
    "conductor_area_mm2": st.sampled_from([None, 1.5, 3.31, 6.0]),
    "earth_area_mm2": st.sampled_from([None, 0.75, 1.5, 6.0]),
    "rated_current_a": st.sampled_from([None, 6.0, 13.0, 32.0, 48.0, 80.0, 125.0]),
}
MODEL = {
    "control_supply_v": st.sampled_from([None, 5.0, 12.0]),
    "coil_ohm": st.sampled_from([None, 180.0]),
    "contactor_open_ohm": st.sampled_from([None, 5.0, 20_000.0]),
}
# On and beside limits, on every scale; a meter shows no more digits than these.
NEAR_LIMITS = """
    0 1 -1 0.1 0.12 0.3 3 4 5 6 10 11.4 12.6 100 135 144 150 165 220 230 253 432 480 528
    680 980 1000 1020 1500 8.37 9.59 5.47 6.53 7.5 -11.4 -12.6 53.3
"""
NUMBERS = st.one_of(
    st.sampled_from(NEAR_LIMITS.split()),
    st.decimals(-1000, 2000, places=2).map(str),
    st.decimals(0, 1, places=3).map(str),
    st.sampled_from(["1000000", "20000", "1e6", "999999"]),
)


@st.composite
def shown(draw, check):
    if checks()[check].unit == "outcome" or draw(st.integers(0, 5)) == 0:
        return {"outcome": draw(st.sampled_from([*codes("outcomes")]))}
    unit = draw(st.sampled_from(convertible_units(checks()[check].unit)))
    number = draw(NUMBERS)
    value = draw(st.sampled_from([number, number, number, f">{number}", f"<{number}"]))
    return {"value": draw(st.sampled_from([value, value, value, "OL"])), "unit": unit}


@st.composite
def readings(draw, case_id):
    check = draw(st.sampled_from([*checks()]))
    reading = {
        "case_id": case_id,
        "check": check,
        "stage": draw(st.sampled_from([*codes("stages")])),
        "point": draw(
            st.sampled_from([None, "L1", "N", "CP", "pe", "L1-N", "L1-L2", "handle"])
        ),
        "condition": draw(st.sampled_from([None, *codes("conditions")])),
    }
    return reading | draw(shown(check))


@st.composite
def judgements(draw):
    """Draw cases of one reading each, with the unit and its model."""
    found = []
    for number in range(draw(st.integers(1, 25))):
        name = f"C{number:02}"
        unit = {key: draw(choice) for key, choice in UNIT.items()}
        model = {key: draw(choice) for key, choice in MODEL.items()}
        found.append((unit, model, draw(readings(name))))
    return found


def one_by_one(unit, model, reading):
    text = reading.get("value") or reading["outcome"]
    context = unit | model | {k: reading[k] for k in ("point", "condition")}
    try:
        found = evaluate_reading(
            reading["check"],
            text,
            reading.get("unit"),
            stage=reading["stage"],
            context=context,
        )
    except ValueError:
        return "undefined", None, None
    return found.outcome, found.low, found.high


def tables_of(drawn):
    return judged_tables(
        units=[
            unit | {"serial": reading["case_id"], "model": f"M{reading['case_id']}"}
            for unit, _, reading in drawn
        ],
        models=[
            model | {"model": f"M{reading['case_id']}"} for _, model, reading in drawn
        ],
        cases=[
            {
                "case_id": reading["case_id"],
                "serial": reading["case_id"],
                "received_on": dt.date(2025, 5, 1),
            }
            for _, _, reading in drawn
        ],
        readings=[reading for _, _, reading in drawn],
    )


def hold_equal(drawn):
    found = table(tables_of(drawn), "readings").set_index("case_id")
    assert len(found) == len(drawn)
    for unit, model, reading in drawn:
        row = found.loc[reading["case_id"]]
        low, high = (None if math.isnan(row[k]) else row[k] for k in ("low", "high"))
        assert (row["judged"], low, high) == one_by_one(unit, model, reading), reading


@settings(max_examples=60, deadline=None)
@given(judgements())
def test_all_at_once_is_one_by_one(drawn):
    hold_equal(drawn)


def test_every_check_is_judged_alike_at_every_value_near_a_limit():
    unit = {
        "connector": None, "phases": 1, "supply_system": "240",
        "ground_fault_device": "ccid5", "cable_length_m": 5.0,
        "conductor_area_mm2": 6.0, "earth_area_mm2": 1.5, "rated_current_a": 32.0,
    }  # fmt: skip
    model = {"control_supply_v": 12.0, "coil_ohm": 180.0, "contactor_open_ohm": None}
    measured = [check for check in checks().values() if check.unit != "outcome"]
    values = [
        f"{sign}{number}" for number in NEAR_LIMITS.split() for sign in ("", ">", "<")
    ]
    pairs = itertools.product(measured, [*values, "-0.05", "OL"])

    hold_equal(
        [
            (unit, model, {
                "case_id": f"C{place}", "check": check.code, "stage": "diagnosis",
                "point": None, "condition": None, "value": value, "unit": check.unit,
            })
            for place, (check, value) in enumerate(pairs)
        ]
    )  # fmt: skip


def test_every_edge_of_a_limit_is_judged_alike():
    facts = {*UNIT, *MODEL, "point", "condition"}
    drawn = []
    for edge in [*SOURCED, *OF_THE_TRADE]:
        # The others ask for a setting that no record has, or for further readings.
        if edge.context.keys() <= facts:
            unit = {name: edge.context.get(name) for name in UNIT}
            model = {name: edge.context.get(name) for name in MODEL}
            drawn += [
                (unit, model, {
                    "case_id": f"C{len(drawn) + place}", "check": edge.check,
                    "stage": "diagnosis", "point": edge.context.get("point"),
                    "condition": edge.context.get("condition"),
                    "value": str(value), "unit": edge.unit,
                })
                for place, value in enumerate((edge.at, edge.inside, edge.outside))
            ]  # fmt: skip

    assert len(drawn) > 300
    hold_equal(drawn)


class Asked(dict):
    """A context that remembers what it was asked for."""

    def __init__(self, facts):
        super().__init__(facts)
        self.keys_asked = set()

    def get(self, key, default=None):
        self.keys_asked.add(key)
        return super().get(key, default)


# These are in no record, so that a limit never finds them in a store.
NOT_RECORDED = {"current_setting_a", "test_current_ma"}


@pytest.mark.parametrize("check", checks())
@settings(max_examples=15, deadline=None)
@given(facts=st.fixed_dictionaries(UNIT | MODEL))
def test_a_limit_asks_for_nothing_that_its_context_leaves_out(check, facts):
    context = Asked(facts | {"condition": "flexed", "still_ohm": 0.1, "point": "CP"})

    with contextlib.suppress(ValueError):
        limit_of(check, context)

    kept = {
        "other_poles_mohm" if name == "other_pole_mohm" else name
        for name in judging.CONTEXT_FIELDS.get(check, ())
    }
    # The connector is read of every unit, and refuses only what is for the other one.
    if checks()[check].connector is None:
        kept.add("connector")
    assert context.keys_asked - NOT_RECORDED <= kept
