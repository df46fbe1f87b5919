"""Which checks must pass after a repair before a unit goes back; common practice.

A repair resets the gate, and a second fault may stand behind the first: so every gate
check and a charge come again, beside the checks that confirmed the fault. No source.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from analytics.advice.check_table import applies
from analytics.advice.gate import (
    SITE_SPEAKS,
    CheckState,
    JudgedReading,
    check_states,
    needed_points,
)
from analytics.advice.label_support import COMES_AND_GOES
from analytics.advice.limits import Context
from ingest.catalogue import check_modes, checks, codes, failure_modes

AFTER: Final = "after_repair"
CHARGE: Final = "charge_test"
SOAK: Final = "soak"
# What goes back to nobody has nothing to pass.
NOT_RETURNED: Final = ("unit_replaced", "scrapped")
NOT_REPAIRED: Final = "returned_as_found"
NEW_PART: Final = "part_replaced"
TRIPS: Final = ("ground_fault_trip_current", "dc_trip_current")


@dataclass(frozen=True, slots=True)
class MustPass:
    """A check that must pass at stage after_repair, at all its points, and why."""

    check: str
    points: tuple[str, ...]
    why: str


def must_pass(
    mode: str,
    disposition: str,
    context: Context,
    *,
    symptoms: Iterable[str] = (),
) -> tuple[MustPass, ...]:
    """Return the checks that must pass before a unit is returned.

    Parameters
    ----------
    mode : str
        The confirmed failure mode.
    disposition : str
        Code of what was done with the unit.
    context : mapping
        Facts about the unit; `connector`, `phases`, `supply_system` and
        `ground_fault_device` are used.
    symptoms : iterable of str
        As reported; those that come and go ask for the soak.

    Returns
    -------
    tuple of MustPass
        Gate checks first, the charge last; empty where the unit does not go back.

    Raises
    ------
    ValueError
        If there is no such mode or disposition.
    """
    if mode not in failure_modes():
        raise ValueError(f"no failure mode is called {mode!r}")
    if disposition not in codes("dispositions"):
        raise ValueError(f"no disposition is called {disposition!r}")
    if disposition in NOT_RETURNED:
        return ()
    why = {
        check.code: "a gate check, which a repair resets"
        for check in checks().values()
        if check.gate
    }
    if disposition == NOT_REPAIRED:
        why = dict.fromkeys(why, "a gate check, before the unit goes back")
    else:
        why |= _of_mode(mode, symptoms)
    if disposition == NEW_PART:
        for code in TRIPS:
            why.setdefault(code, "a part is new: protection must still trip")
    why.setdefault(CHARGE, "a second fault may stand behind the first")
    # In the order of the catalogue: the gate before what is live, the charge last.
    return tuple(
        MustPass(code, needed_points(code, context), why[code])
        for code, check in checks().items()
        if code in why and applies(check, context)
    )


def _of_mode(mode: str, symptoms: Iterable[str]) -> dict[str, str]:
    """Return what a mode asks for beyond the gate and the charge."""
    label = failure_modes()[mode].label
    found = {}
    comes = set(symptoms) & set(COMES_AND_GOES)
    for link in check_modes():
        if link.mode == mode and link.confirms:
            site = " (on site)" if link.check in SITE_SPEAKS else ""
            found[link.check] = f"it confirms {label}{site}"
        elif link.mode == mode and link.check == SOAK:
            found[SOAK] = f"{label} may come and go"
    if comes:
        found.setdefault(SOAK, "the symptom comes and goes")
    return found


def still_to_pass(
    wanted: Iterable[MustPass], readings: Iterable[JudgedReading], context: Context
) -> Mapping[MustPass, CheckState | None]:
    """Return those that have not passed after the repair, with their state.

    Parameters
    ----------
    wanted : iterable of MustPass
    readings : iterable of JudgedReading
        All readings of the case; only those of stage after_repair count, and those on
        site for what only the site has.
    context : mapping

    Returns
    -------
    mapping of MustPass to CheckState or None
        None where nothing was read after the repair.
    """
    counted = [
        reading
        for reading in readings
        if reading.stage == AFTER
        or (reading.stage == "on_site" and reading.check in SITE_SPEAKS)
    ]
    states = check_states(counted, context, repaired=True)
    found = {item: states.get(item.check) for item in wanted}
    return {
        item: state
        for item, state in found.items()
        if state is None or state.outcome != "pass"
    }
