"""What is known of the unit on the bench: as typed, else as the register has it."""

from collections.abc import Mapping
from dataclasses import dataclass

from analytics.rollup.snapshot import Snapshot
from dashboard.queries.answer import Row, rows_of
from dashboard.queries.intake import Intake
from dashboard.settings import Settings

# Facts that may be typed; they win over the register.
TYPED = ("model", "environment", "connector", "current_setting_a")
# Each fact in words; the codes are those of the records.
WORDS = {
    "model": "model {}",
    "environment": "stood {}",
    "connector": "connector {}",
    "phases": "{} phase(s)",
    "supply_system": "supply {} V",
    "ground_fault_device": "ground-fault device {}",
    "cable_length_m": "cable {} m",
    "conductor_area_mm2": "conductors {} mm2",
    "earth_area_mm2": "earth {} mm2",
    "rated_current_a": "rated {} A",
    "current_setting_a": "set to {} A",
}

Context = Mapping[str, object]


@dataclass(frozen=True, slots=True)
class UnitOnBench:
    """The unit on the bench.

    Attributes
    ----------
    facts : mapping
        Fields of the unit by name; what is not known is not in it.
    intake : Intake
        As typed, with model, environment and connector of the register filled in.
    context : mapping
        What limits and checks depend on: the facts and the maker's values.
    is_known : bool or None
        Whether the register holds the serial; None without a serial.
    words : str
        Where the facts come from, and what to do about those missing.
    """

    facts: Mapping[str, object]
    intake: Intake
    context: Context
    is_known: bool | None
    words: str

    def row(self) -> Row:
        """Return the unit as the answer shows it."""
        return {
            "serial": self.intake.serial,
            "is_known": self.is_known,
            "facts": dict(self.facts),
            "facts_words": [
                WORDS[name].format(_shown(value)) for name, value in self.facts.items()
            ],
            "words": self.words,
        }


def unit_on_bench(
    snapshot: Snapshot, intake: Intake, settings: Settings
) -> UnitOnBench:
    """Bring together what was typed of a unit and what the register holds of it.

    Raises
    ------
    NotPublishedError
        The figures were published by an older version and hold no such facts.
    """
    recorded = _recorded(snapshot, intake.serial) if intake.serial else None
    typed = {name: getattr(intake, name) for name in TYPED if getattr(intake, name)}
    facts = dict(recorded or {}) | typed
    filled = {name: facts[name] for name in TYPED if name in facts}
    model = settings.models.get(str(facts.get("model", "")))
    maker = model.model_dump(exclude_none=True) if model else {}
    return UnitOnBench(
        facts=facts,
        intake=intake.model_copy(update=filled),
        context=facts | maker,
        is_known=None if not intake.serial else recorded is not None,
        words=_words(intake.serial, recorded, typed),
    )


def _recorded(snapshot: Snapshot, serial: str) -> Mapping[str, object] | None:
    rows = rows_of(snapshot.ask("unit_facts", {"serial": serial}))
    if not rows:
        return None
    return {name: value for name, value in rows[0].items() if value is not None}


def _shown(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _words(
    serial: str | None,
    recorded: Mapping[str, object] | None,
    typed: Mapping[str, object],
) -> str:
    if not serial:
        return (
            "No serial typed: where a limit depends on the unit, the stricter one "
            "stands."
        )
    if recorded is None:
        return (
            f"The figures published hold no unit {serial}: check the serial, or go on "
            "with what is typed; where a limit depends on the unit, the stricter one "
            "stands."
        )
    others = [
        f"{name} {typed[name]} as typed, {recorded[name]} on record"
        for name in typed
        if name in recorded and recorded[name] != typed[name]
    ]
    differ = (
        f" They differ: {'; '.join(others)}. Look at the nameplate." if others else ""
    )
    return f"Windows and points are those of unit {serial} as on record.{differ}"
