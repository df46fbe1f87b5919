"""The rows of the readings file: one protocol path per case.

The unit is proved dead first; checks without mains come next; nothing is read live
before every gate check of the stage has passed (common practice, no source).
"""

import datetime as dt
import functools
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from synthetic_data import scenario
from synthetic_data.bench_values import Bench, Check, checks, lines
from synthetic_data.cases import Row
from synthetic_data.scenario import read_table

# Heat marks, water or broken parts: seen when the unit is opened, gate shut.
SEEN_WHEN_OPENED = frozenset(
    {
        "handle_power_pin_overheated",
        "handle_housing_cracked",
        "cable_jacket_damaged",
        "supply_terminal_overheated",
        "supply_plug_overheated",
        "enclosure_water_ingress",
    }
)
GATE = (
    "supply_wiring",
    "earth_continuity",
    "insulation_resistance",
    "contactor_open",
)
DEAD_ROUTINE = (
    "latch_operation",
    "internal_connectors_seated",
    "supply_terminals",
    "fuse_continuity",
    "supply_wiring",
    "earth_continuity",
    "pilot_continuity",
)
WHOLE_PROTOCOL_DEAD = (
    *("latch_operation", "internal_connectors_seated", "supply_terminals"),
    *("fuse_continuity", "pilot_continuity", "path_resistance"),
)
WHOLE_PROTOCOL_LIVE = (
    *("contactor_close", "pilot_voltage_terminals", "pilot_voltage_state_b"),
    *("pilot_voltage_state_c", "pilot_negative_level", "pilot_duty"),
    *("pilot_state_recognised", "output_voltage_by_state"),
    *("ground_fault_trip_current", "ground_fault_trip_time", "soak", "charge_test"),
)
# After a repair: the gate is walked anyway, and the handle stays closed.
NOT_REPEATED = frozenset({*GATE, "visual_inspection", "core_localisation"})
UNPROVED_OUTSIDE = frozenset({"no_fault_found", "vehicle_side_fault"})
FLEXED = frozenset({"pilot_continuity", "line_continuity", "core_localisation"})
ROUTINE_KEPT = 0.6
CHECKED_AFTER_REPAIR = 0.55
LOG_READ_FIRST = 0.2
# The sign in place of the word: files carry more than plain ASCII.
UNIT_SIGNS = {"ohm": "Ω", "Mohm": "MΩ", "mohm": "mΩ"}
SHARE_SIGNS = 0.1
INSTRUMENTS = {
    "ohm": "multimeter, Ω range",
    "Mohm": "insulation tester 500 V",
    "mohm": "four-wire meter ±0.1 %",
    "V": "pilot tester",
    "Hz": "pilot tester",
    "mA": "residual-current tester",
    "K": "thermometer 0.1 °C",
    "%": "reference meter",
    "ms": "residual-current tester",
}


@dataclass(frozen=True, slots=True)
class Step:
    """One line of a protocol: what to read, where, how, and what comes out."""

    check: str
    point: str = ""
    condition: str = ""
    value: str = "good"


@functools.cache
def confirming_steps() -> dict[str, tuple[Step, ...]]:
    """Return, by mode, the readings that confirm it and what must be good beside."""
    found: dict[str, list[Step]] = {}
    for row in read_table("confirming.csv"):
        step = Step(row["check"], row["point"], row["condition"], row["value"])
        found.setdefault(row["mode"], []).append(step)
    return {mode: tuple(steps) for mode, steps in found.items()}


class Protocol:
    """Writes the readings of one case after another."""

    def __init__(self, rng: np.random.Generator) -> None:
        self._random = rng.random
        self._bench = Bench(rng)
        self._checks = checks()

    def readings(self, case: Row, unit: Row, mode: str, dates: Row) -> list[Row]:
        """Return the readings of a case that were taken by the last day.

        Parameters
        ----------
        case, unit : dict
            The rows of the repairs and of the units file.
        mode : str
            The true mode.
        dates : dict
            received, confirmed and closed: the true days.
        """
        last = scenario.LAST_DAY
        poles = lines(unit)
        pole = poles[int(self._random() * len(poles))]
        sheet = _Sheet(case["case_id"], unit, pole, self._random)
        self._write(sheet, "intake", dates["received"], self._intake(mode))
        if dates["confirmed"] <= last:
            steps = self._diagnosis(mode, unit)
            self._write(sheet, "diagnosis", dates["confirmed"], steps)
        repaired = case.get("disposition") in {"repaired", "part_replaced"}
        if repaired and self._random() < CHECKED_AFTER_REPAIR:
            steps = self._after_repair(mode)
            self._write(sheet, "after_repair", dates["closed"], steps)
        return sheet.rows

    def _intake(self, mode: str) -> list[Step]:
        seen = "fail" if mode in SEEN_WHEN_OPENED else "good"
        steps = [Step("proved_dead"), Step("visual_inspection", value=seen)]
        if self._random() < LOG_READ_FIRST and mode != "supply_out_of_range":
            steps.insert(0, Step("settings_and_log"))
        return steps

    def _diagnosis(self, mode: str, unit: Row) -> list[Step]:
        if mode in UNPROVED_OUTSIDE:
            proximity = (
                ("cable_coding",)
                if unit["connector"] == "type_2"
                else ("proximity_latch_at_rest", "proximity_latch_pressed")
            )
            dead = [*WHOLE_PROTOCOL_DEAD, *proximity, *GATE]
            return self._good([*dead, *WHOLE_PROTOCOL_LIVE], unit)
        steps = [
            step
            for step in confirming_steps()[mode]
            # Looked at when the unit was opened: it is on the sheet already.
            if not (step.check == "visual_inspection" and mode in SEEN_WHEN_OPENED)
        ]
        own = {step.check for step in steps}
        routine = [
            check
            for check in DEAD_ROUTINE
            if check not in own | set(GATE) or (check in GATE and not own & set(GATE))
        ]
        live = [step for step in steps if self._checks[step.check].live]
        if live:
            dead = [step for step in steps if step not in live]
            before = [check for check in GATE if check not in own]
            return [*dead, *self._good(before, unit), *live]
        kept = [check for check in routine if self._random() < ROUTINE_KEPT]
        return [*self._good(kept, unit), *steps]

    def _after_repair(self, mode: str) -> list[Step]:
        gate = [Step(check, value="pass") for check in GATE]
        again = [
            Step(step.check, step.point, step.condition)
            for step in confirming_steps().get(mode, ())
            if step.check not in NOT_REPEATED and step.value != "good"
        ]
        dead = [step for step in again if not self._checks[step.check].live]
        live = [step for step in again if self._checks[step.check].live]
        start = [Step("proved_dead"), Step("visual_inspection")]
        return [*start, *dead, *gate, *live, Step("charge_test")]

    def _good(self, codes: Sequence[str], unit: Row) -> list[Step]:
        """Return the steps of these checks at every point each needs."""
        steps = []
        for code in codes:
            points: tuple[str, ...] = self._checks[code].points or ("",)
            if points == ("each",):
                points = lines(unit)
            steps += [Step(code, point, _condition(code, point)) for point in points]
        return steps

    def _write(
        self, sheet: "_Sheet", stage: str, day: dt.date, steps: list[Step]
    ) -> None:
        for step in steps:
            check = self._checks[step.check]
            result = self._bench.spoken(step.value, check, sheet.unit)
            sign = UNIT_SIGNS.get(result.get("unit", ""))
            if sign is not None and self._random() < SHARE_SIGNS:
                result["unit"] = sign
            point = sheet.pole if step.point == "pole" else step.point
            place = {"point": point or None, "condition": step.condition or None}
            sheet.add(check, stage, day, place | result)


def _condition(code: str, point: str) -> str:
    """Return `flexed` where a conductor is moved during the reading."""
    moved = code in FLEXED or (code == "earth_continuity" and point == "handle")
    return "flexed" if moved else ""


class _Sheet:
    """The readings of one case, on one running clock."""

    def __init__(
        self, case_id: str, unit: Row, pole: str, random: Callable[[], float]
    ) -> None:
        self.rows: list[Row] = []
        self.unit = unit
        self.pole = pole
        self._case_id = case_id
        self._random = random
        self._now = dt.datetime.min  # noqa: DTZ901 - wall-clock times of a workshop

    def add(self, check: Check, stage: str, day: dt.date, result: Row) -> None:
        start = dt.datetime.combine(day, dt.time(8, 0))
        self._now = max(self._now, start)
        minutes = max(1, round(check.minutes * (0.7 + 0.7 * self._random())))
        self._now += dt.timedelta(minutes=minutes)
        row: Row = {
            "case_id": self._case_id,
            "check": check.code,
            "taken_at": self._now.isoformat(timespec="minutes"),
            "stage": stage,
        }
        if check.code == "settings_and_log" and stage == "intake":
            row["taken_at"] = day.isoformat()  # read from records: no time noted
        if "value" in result:
            row["instrument"] = INSTRUMENTS[check.unit]
        row["ambient_c"] = f"{17 + 8 * self._random():.1f}"
        row["minutes"] = minutes
        self.rows.append(row | result)
