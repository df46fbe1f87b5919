"""The unit on the bench: its record gives windows and points; readings as typed."""

import pytest

from analytics.advice.reading_values import OVER_RANGE, UNDER_RANGE
from dashboard.filters import Filters
from dashboard.queries.listings import units
from dashboard.queries.suggest import Intake, suggest
from dashboard.queries.typed_readings import typed_reading
from dashboard.settings import Settings
from ingest import catalogue
from ingest.errors import UsageError

PASSED = tuple(
    f"{code}=pass" for code, check in catalogue.checks().items() if check.gate
)


def ask(snapshot, **words):
    return suggest(snapshot, Intake.of(words), settings=Settings())


@pytest.fixture
def unit(snapshot):
    """Return a unit of type 1 with the length and area of its cable on record."""
    for row in units(snapshot, Filters()).rows:
        facts = snapshot.ask("unit_facts", {"serial": row["serial"]}).iloc[0]
        if facts["connector"] == "type_1" and facts["cable_length_m"] > 0:
            return {"serial": row["serial"]} | facts.to_dict()
    raise AssertionError("the invented fleet has no such unit")


def window(answer, check):
    return next(r["window"] for r in answer.more["checks"] if r["check"] == check)


def test_without_a_serial_the_cable_is_not_known_and_no_limit_is_made_up(snapshot):
    answer = ask(snapshot, reading=["proved_dead=pass"])

    assert window(answer, "path_resistance").startswith("no limit")
    assert answer.more["unit"]["is_known"] is None
    assert "stricter one stands" in answer.more["unit"]["words"]


def test_a_serial_brings_connector_points_and_windows_of_its_unit(snapshot, unit):
    answer = ask(snapshot, serial=unit["serial"].lower(), reading=["proved_dead=pass"])

    # DATA of copper: 17.241 mohm mm2 per m at 20 degC (IEC 60028), and the smaller of
    # 0.15 x conductor + 2 and 5 mohm more: common practice, no source.
    conductor = 17.241 / unit["conductor_area_mm2"] * unit["cable_length_m"]
    limit = conductor + min(0.15 * conductor + 2, 5)
    shown = window(answer, "path_resistance")
    assert float(shown.split()[2]) == pytest.approx(limit, rel=1e-3)
    offered = {row["check"]: row for row in answer.more["checks"]}
    assert "cable_coding" not in offered
    assert offered["contactor_open"]["needed_points"][0] == "L1"
    assert len(offered["contactor_open"]["needed_points"]) == 2
    assert answer.more["unit"]["facts"]["connector"] == "type_1"


def test_what_is_typed_wins_over_the_record_and_is_said_to_differ(snapshot, unit):
    answer = ask(snapshot, serial=unit["serial"], connector="type_2")

    assert answer.more["unit"]["facts"]["connector"] == "type_2"
    assert "connector type_2 as typed, type_1 on record" in answer.more["unit"]["words"]
    assert "cable_coding" in {row["check"] for row in answer.more["checks"]}


def test_the_record_of_the_unit_is_evidence_as_if_typed(snapshot, unit):
    by_serial = ask(snapshot, symptom=["handle_hot"], serial=unit["serial"])
    typed = ask(
        snapshot,
        symptom=["handle_hot"],
        model=unit["model"],
        environment=unit["environment"],
        connector=unit["connector"],
    )

    assert [row["probability"] for row in by_serial.rows] == [
        row["probability"] for row in typed.rows
    ]


def test_a_serial_that_is_not_known_says_what_to_do(snapshot):
    answer = ask(snapshot, serial="no-such-unit")

    assert answer.more["unit"]["is_known"] is False
    assert "check the serial" in answer.more["unit"]["words"]
    assert answer.more["checks"]


def test_a_pass_at_rest_does_not_undo_a_fail_flexed(snapshot):
    answer = ask(
        snapshot,
        reading=[
            *PASSED,
            "earth_continuity@handle~flexed=fail",
            "earth_continuity@handle~still=0.05ohm",
            "proved_dead=pass",
        ],
    )

    gate = {row["check"]: row for row in answer.more["gate"]}
    assert gate["earth_continuity"]["outcome"] == "fail"
    assert answer.more["readings"][-2]["condition"] == "still"
    assert not any(row["hazard"] == "live" for row in answer.more["checks"])


def test_a_flexed_earth_is_judged_against_the_reading_at_rest(snapshot):
    # 0.02 ohm of change on flexing: common practice, no source.
    def outcome(flexed):
        answer = ask(
            snapshot,
            reading=[
                "earth_continuity@handle~still=0.05ohm",
                f"earth_continuity@handle~flexed={flexed}ohm",
            ],
        )
        return answer.more["readings"][1]["outcome"]

    assert outcome("0.06") == "pass"
    assert outcome("0.08") == "fail"


def test_a_pole_is_judged_beside_the_others_whichever_was_first(snapshot, unit):
    # Poles alike within 20 % and 5 mohm: common practice, no source.
    for order in (("L1", 15), ("N", 2)), (("N", 2), ("L1", 15)):
        answer = ask(
            snapshot,
            serial=unit["serial"],
            reading=[f"path_resistance@{point}={value}mohm" for point, value in order],
        )
        outcomes = {row["point"]: row["outcome"] for row in answer.more["readings"]}
        assert outcomes == {"L1": "fail", "N": "pass"}


@pytest.mark.parametrize("shown", sorted(OVER_RANGE | UNDER_RANGE))
@pytest.mark.parametrize("unit", ["ohm", "Mohm", ""])
def test_every_word_of_an_instrument_beyond_its_range_is_read(shown, unit):
    reading = typed_reading(f"fuse_continuity={shown}{unit}")

    assert (reading.value, reading.unit or "") == (shown, unit)
    assert reading.number == shown


def test_beyond_the_range_is_a_fail_and_below_it_no_pass_of_the_gate(snapshot):
    answer = ask(
        snapshot, reading=["fuse_continuity=O.Lohm", "earth_continuity@handle=ULohm"]
    )

    over, under = answer.more["readings"]
    assert over["outcome"] == "fail"
    assert under["outcome"] == "undefined"
    assert "Measure again" in under["meaning"]


@pytest.mark.parametrize(
    ("reading", "says"),
    [
        (
            "contactor_open@L1=>2000ohm",
            "a range that shows megohms",
        ),
        ("earth_continuity@handle=-5ohm", "Measure again: leads nulled"),
        ("path_resistance@L1=9mohm", "Record what is missing with the unit"),
    ],
)
def test_a_reading_that_is_neither_pass_nor_fail_says_what_to_do(
    snapshot, reading, says
):
    row = ask(snapshot, reading=[reading]).more["readings"][0]

    assert row["outcome"] == "undefined"
    assert says in row["meaning"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ({"reading": ["earth_continuity~bent=pass"]}, "condition bent is not known"),
        ({"opened_before_arrival": "maybe"}, "opened_before_arrival maybe"),
        ({"reading": ["fuse_continuity=XLohm"]}, "is not CHECK"),
    ],
)
def test_what_cannot_be_read_is_named(snapshot, words, says):
    with pytest.raises(UsageError, match=says):
        ask(snapshot, **words)


@pytest.mark.parametrize("finding", ["water_inside", "conductor_on_wrong_terminal"])
def test_a_dangerous_finding_keeps_mains_off_until_it_was_seen_to(snapshot, finding):
    shut = ask(snapshot, finding=[finding], reading=PASSED)
    seen = ask(
        snapshot,
        finding=[finding],
        reading=[*PASSED, f"visual_inspection@{finding}=pass", "proved_dead=pass"],
    )

    assert not any(row["hazard"] == "live" for row in shut.more["checks"])
    assert shut.more["findings_open"] == [finding]
    why = {row["check"]: row["why"] for row in shut.more["gate"]}
    assert "no mains until" in why["visual_inspection"]
    assert seen.more["gate_is_open"]
    assert seen.more["findings_open"] == []
    assert not [row for row in seen.more["gate"] if row["why"]]


def test_every_gate_check_says_in_words_why_it_keeps_mains_off(snapshot):
    answer = ask(
        snapshot,
        reading=["proved_dead=pass", "earth_continuity@handle=0.05ohm"],
    )

    gate = {row["check"]: row for row in answer.more["gate"]}
    assert gate["proved_dead"]["why"] == ""
    assert gate["earth_continuity"]["missing_points"] == ["metal"]
    assert "metal" in gate["earth_continuity"]["why"]
    assert "not done yet" in gate["contactor_open"]["why"]
    reset = ask(snapshot, reading=[*PASSED, "pilot_continuity=fail"])
    gate = {row["check"]: row for row in reset.more["gate"]}
    assert "prove it dead again" in gate["proved_dead"]["why"]


def test_the_next_check_says_what_each_of_its_outcomes_would_mean(snapshot):
    words = {"symptom": ["stops_when_cable_moved"], "connector": "type_1"}
    dead = ask(snapshot, **words).more["first_check"]
    pilot = ask(snapshot, **words, reading=["proved_dead=pass"]).more["first_check"]

    assert dead["check"] == "proved_dead"
    assert "No mains on this unit" in dead["outcomes"][0]["words"]
    assert pilot["check"] == "pilot_continuity"
    fail, passed = pilot["outcomes"]
    assert (fail["outcome"], passed["outcome"]) == ("fail", "pass")
    # One of the two comes out; the two chances are all there is.
    assert fail["probability"] + passed["probability"] == pytest.approx(1)
    assert {"handle_pilot_open", "cable_pilot_open"} <= set(fail["would_confirm"])
    assert passed["would_confirm"] == []


def test_a_failed_check_names_what_must_be_seen_beside_it_and_that_comes_next(snapshot):
    answer = ask(
        snapshot,
        symptom=["stops_when_cable_moved"],
        reading=["proved_dead=pass", "pilot_continuity~flexed=OLohm"],
    )
    again = ask(
        snapshot,
        symptom=["stops_when_cable_moved"],
        reading=[
            "proved_dead=pass",
            "pilot_continuity~flexed=OLohm",
            "proved_dead=pass",
        ],
    )

    open_ = {row["mode"]: row for row in answer.more["verdicts"]}
    assert open_["cable_pilot_open"]["state"] == "open"
    assert open_["cable_pilot_open"]["beside_missing"]
    assert answer.more["checks"][0]["check"] == "proved_dead"
    assert again.more["checks"][0]["check"] == "core_localisation"
