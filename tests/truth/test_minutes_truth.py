"""A short form of `python -m tests.truth minutes`, and the bench it is measured on.

Cases of one fleet with seed 1. Each bar is held case by case against the other rule on
the same case, widened by four standard errors of these differences.
"""

import numpy as np
import pandas as pd
import pytest
from threadpoolctl import threadpool_limits

from analytics.advice.check_information import NOT_ISOLATED, update_probabilities
from tests.truth import minutes_bench, minutes_study
from tests.truth.minutes_bench import Bench, checks_of
from tests.truth.minutes_study import ADVISED, BARS, FIXED, ORACLE, RULES, Year
from tests.truth.study import run

UNIT = (
    ("connector", "type_1"),
    ("ground_fault_device", "ccid20"),
    ("coil_v", 12.0),
)
N_CASES, N_BACKWARDS = 25, 2


@pytest.fixture(scope="module")
def year() -> Year:
    with threadpool_limits(1):
        return minutes_study.drawn_year(N_CASES, np.random.default_rng(1))


@pytest.fixture(scope="module")
def minutes(year) -> pd.DataFrame:
    found = minutes_study.worked(year, np.random.default_rng(1))
    assert 0.6 * N_CASES < len(found) <= len(year) == N_CASES
    return found


def misses(minutes: pd.DataFrame, other: str) -> bool:
    """Tell whether the advised order takes surely longer than the bar says."""
    more = minutes[ADVISED] - BARS[other] * minutes[other]
    return bool(more.mean() > 4 * more.sem())


@pytest.mark.parametrize("other", BARS)
def test_the_advised_check_takes_as_few_minutes_as_the_bars_say(minutes, other):
    assert not misses(minutes, other), minutes.mean()


def test_told_the_cause_is_the_quickest_and_the_fixed_order_the_slowest(minutes):
    means = minutes.mean()

    assert means.idxmin() == ORACLE
    assert means.idxmax() == FIXED
    assert set(means.index) == set(RULES)


def test_advice_turned_upside_down_is_found_out(monkeypatch, year):
    right = minutes_bench.next_check

    def backwards(*args, **options):
        return right(*args, **options)[::-1]

    monkeypatch.setattr(minutes_bench, "next_check", backwards)
    two = {name: RULES[name] for name in (FIXED, ADVISED)}
    monkeypatch.setattr(minutes_study, "RULES", two)
    some = year.first(N_BACKWARDS)
    means = minutes_study.worked(some, np.random.default_rng(1)).mean()

    assert means[ADVISED] > 2 * BARS[FIXED] * means[FIXED]


def test_the_table_holds_each_rule_and_the_ratio_to_it(monkeypatch):
    monkeypatch.setattr(minutes_study, "drawn_year", lambda n, rng: (n, rng))
    monkeypatch.setattr(minutes_study, "worked", lambda *_: _made_up())
    lines = run(minutes_study.STUDY, fleets=2, seed=1, cores=1)

    shown = minutes_study.grids(lines).split("\n")

    assert len(shown) == 2 + len(RULES)
    (row,) = (row for row in shown if row.startswith(f"| {FIXED} |"))
    assert "| 90.0 ±" in row
    assert "| 0.250 ±0.000 | 0.41 |" in row


def _made_up() -> pd.DataFrame:
    columns = {name: [30.0, 20.0] for name in RULES}
    return pd.DataFrame(columns | {FIXED: [100.0, 80.0], ADVISED: [25.0, 20.0]})


# The bench.


def bench(cause: str, *fails: str) -> Bench:
    return Bench(checks_of(UNIT), cause, frozenset(fails))


def test_minutes_are_those_of_the_checks_with_the_set_up_once():
    # Catalogue: proved_dead 3, contactor_coil 3; the rest of the gate as it stands.
    one = bench("contactor_not_closing")
    one.reach("contactor_coil")
    assert one.minutes == 6
    gate = [code for code in one.checks.gate if code != "proved_dead"]
    one.reach("pilot_voltage_terminals")
    one.reach("pilot_voltage_handle")
    needed = sum(one.checks.at_hand[code].minutes for code in gate)
    assert one.minutes == 6 + needed + 10 + 2 + 2
    # Mains was on: proved dead once more, then the check.
    one.reach("fuse_continuity")
    assert one.minutes == 6 + needed + 10 + 2 + 2 + 3 + 3


@pytest.mark.parametrize(
    "codes",
    [
        ["fuse_continuity"],
        ["proved_dead", "insulation_resistance"],
        ["proved_dead", "pilot_voltage_handle"],
    ],
)
def test_the_bench_refuses_what_is_not_safe(codes):
    one = bench("fuse_open")
    for code in codes[:-1]:
        one.do(code)
    with pytest.raises(ValueError, match="is not safe"):
        one.do(codes[-1])


def test_the_bench_refuses_to_touch_what_may_be_live():
    one = bench("fuse_open")
    one.reach("pilot_voltage_handle")
    with pytest.raises(ValueError, match="is not safe"):
        one.do("fuse_continuity")


def test_only_a_fail_at_a_check_that_confirms_the_cause_confirms_it():
    other = bench("meter_fault", "fuse_continuity")
    other.reach("fuse_continuity")
    assert not other.confirmed
    assert other.outcomes["fuse_continuity"] == NOT_ISOLATED

    own = bench("fuse_open", "fuse_continuity")
    own.reach("fuse_continuity")
    assert own.confirmed


@pytest.mark.parametrize("name", RULES)
def test_every_rule_finds_what_a_check_finds_and_stops_where_none_does(name):
    rule, _ = RULES[name]
    checks = checks_of(UNIT)
    intake = dict.fromkeys(checks.causes, 1 / len(checks.causes))

    found = bench("meter_fault", "energy_reading", "visual_inspection")
    rule(found, intake)
    assert found.confirmed

    missed = bench("meter_fault")
    rule(missed, intake)
    assert not missed.confirmed
    assert not missed.left("meter_fault")


def test_probabilities_written_out_once_more_are_those_of_the_advice():
    one = bench("meter_fault", "visual_inspection", "fuse_continuity", "soak")
    for code in ("visual_inspection", "fuse_continuity", "latch_operation", "soak"):
        one.reach(code)
    causes = one.checks.causes
    intake = {cause: 1.0 + number for number, cause in enumerate(causes)}

    by_hand = minutes_bench.updated_by_hand(one, intake)

    advised = update_probabilities(intake, one.checks.table, one.outcomes)
    assert by_hand == pytest.approx(advised)
