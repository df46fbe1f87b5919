"""Where along the pilot and earth path a fault lies, from what was measured of it.

The path: board, cord, joint in the handle, pin. Each rule rests on two readings that
bracket a piece of it; common practice, no source. A place is a hint, never a verdict.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from analytics.advice.gate import JudgedReading
from analytics.advice.limits import Context
from analytics.advice.rule_outcomes import (
    PlacedReading,
    RuleOutcome,
    placed_readings,
    rule_outcome,
)
from ingest.catalogue import LabelRule

BOARD: Final = "pilot_voltage_terminals"
HANDLE: Final = "pilot_voltage_handle"
PILOT: Final = "pilot_continuity"
EARTH: Final = "earth_continuity"
CORE: Final = "core_localisation"
ITS_CORE_IS_WHOLE: Final = (
    " Its core and joint are whole: look for a leak, and at the earth of the handle."
)


@dataclass(frozen=True, slots=True)
class Place:
    """A piece of the path: board, cord_or_handle, handle_joint, core or earth.

    `checks` are those it rests on, `modes` those that lie there.
    """

    place: str
    checks: tuple[str, ...]
    modes: tuple[str, ...]
    words: str


def localise(readings: Iterable[JudgedReading], context: Context) -> tuple[Place, ...]:
    """Return what the readings say about where a fault lies.

    Parameters
    ----------
    readings : iterable of JudgedReading
        All readings of the case; those after a repair say nothing of the fault.
    context : mapping
        Facts about the unit, as `needed_points` takes them.

    Returns
    -------
    tuple of Place
        Empty where two readings that bracket a piece are not both there. The earth
        comes first: while it is open, a voltage to it means nothing.
    """
    placed = placed_readings(readings)
    found = {
        "board": _outcome(BOARD, (), placed, context),
        "handle": _outcome(HANDLE, (), placed, context),
        "pilot": _outcome(PILOT, (), placed, context),
        "earth": _outcome(EARTH, ("handle",), placed, context),
        "CP": _outcome(CORE, ("CP",), placed, context),
        "PE": _outcome(CORE, ("PE",), placed, context),
    }
    return (*_earth(found), *_voltage(found), *_core(found))


def _outcome(
    check: str,
    points: tuple[str, ...],
    placed: list[PlacedReading],
    context: Context,
) -> RuleOutcome:
    rule = LabelRule(
        mode="",
        check=check,
        role="backs",
        points=points,
        side=None,
        counts="last",
        stages="bench",
        flexed=False,
        source="common practice, no source",
    )
    return rule_outcome(rule, placed, context)


def _earth(found: Mapping[str, RuleOutcome]) -> Iterable[Place]:
    if found["earth"].has_failed and found["handle"].has_failed:
        yield Place(
            "earth",
            (EARTH, HANDLE),
            ("handle_earth_open", "cable_earth_open"),
            "The earth path is open or poor, which alone makes the pilot read none at"
            " the handle: read it again to the board's earth first.",
        )


def _voltage(found: Mapping[str, RuleOutcome]) -> Iterable[Place]:
    if found["board"].has_failed:
        yield Place(
            "board",
            (BOARD,),
            ("pilot_generator_fault", "control_supply_failed"),
            "The pilot is out at the board: lift the cord off and read again; still"
            " out is the board or its supply, good is the cord or the handle.",
        )
    elif found["board"].has_passed and found["handle"].has_failed:
        if found["earth"].has_failed:
            return
        modes = ("handle_pilot_open", "cable_pilot_open", "handle_signal_contact_poor")
        leaks = ("handle_pilot_leakage", "cable_pilot_leakage")
        whole = found["pilot"].has_passed
        yield Place(
            "cord_or_handle",
            (BOARD, HANDLE, *((PILOT,) if whole else ())),
            leaks if whole else (*modes, *leaks),
            "The pilot is good at the board and bad at the handle: cord or handle."
            f"{ITS_CORE_IS_WHOLE if whole else ''}",
        )


def _core(found: Mapping[str, RuleOutcome]) -> Iterable[Place]:
    for path, core, check, name in (
        ("pilot", "CP", PILOT, "pilot"),
        ("earth", "PE", EARTH, "earth"),
    ):
        if not found[path].has_failed:
            continue
        if found[core].has_passed:
            yield Place(
                "handle_joint",
                (check, CORE),
                (f"handle_{name}_open", "handle_signal_contact_poor"),
                f"The {name} path is bad and its core alone is good: the joint or the"
                " pin in the handle.",
            )
        elif found[core].has_failed:
            yield Place(
                "core",
                (check, CORE),
                (f"cable_{name}_open",),
                f"The {name} path is bad and so is its core alone: the cord.",
            )
