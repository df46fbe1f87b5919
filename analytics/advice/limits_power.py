"""Limits of conductors, contactor and electronics supply, by the unit's own data."""

from analytics.advice.limits import (
    Context,
    Limit,
    computed,
    in_words,
    number,
    recorded,
)
from ingest.catalogue import Check

# Resistivity of annealed copper at 20 degC, 1/58 ohm mm2/m (IEC 60028), in mohm mm2/m.
COPPER_MOHM_MM2_PER_M = 1000 / 58
# 14 AWG, the smallest earth conductor of these cables (conductor tables, from memory).
EARTH_UNKNOWN_MOHM_PER_M = 8.3
LENGTH_UNKNOWN_M = 5.0
EARTH_BASE_OHM = 0.1  # UK Code of Practice, from memory
# Older limit for thin earth conductors (VDE 0701-0702, secondary reading): 0.3 ohm
# to 5 m, 0.1 ohm for each further 7.5 m begun, never above 1 ohm; up to 1.5 mm2.
THIN_MM2 = 1.5
# Path resistance over the conductor's own: common practice, no source.
PATH_SHARE, PATH_ADDED_MOHM, PATH_MOST_MOHM = 0.15, 2.0, 5.0
FLEX_OHM = 0.02  # change on flexing: common practice, no source
POLE_SHARE, POLE_MOHM = 0.20, 5.0  # poles alike: common practice, no source
WELDED_BELOW_OHM = 10.0  # common practice, no source
CONTROL_SUPPLY_SHARE, COIL_SHARE = 0.05, 0.20  # common practice, no source
NO_COIL_OHM = 1_000_000.0  # no coil has this much: it is open
CORE_OHM = 1.0
SIGNAL_CORES = ("CP", "PP")
POWER_CORES = ("L1", "L2", "L3", "N")


def earth_limit_ohm(context: Context) -> tuple[float, tuple[str, ...]]:
    """Return the limit of an earth path and what was assumed for it.

    Parameters
    ----------
    context : mapping
        `cable_length_m` and `earth_area_mm2` are used.

    Returns
    -------
    limit : float
        In ohm: 0.1 plus the conductor, and never above the older limit for thin
        conductors.
    assumed : tuple of str
        Sentences on what was not recorded.
    """
    assumed = []
    length, area = number(context, "cable_length_m"), number(context, "earth_area_mm2")
    if length is None:
        assumed.append(f"cable length not recorded, {LENGTH_UNKNOWN_M:g} m taken")
        length = LENGTH_UNKNOWN_M
    per_metre = EARTH_UNKNOWN_MOHM_PER_M
    if area is None:
        assumed.append(f"earth area not recorded, {per_metre:g} mohm/m taken")
    else:
        per_metre = COPPER_MOHM_MM2_PER_M / area
    limit = EARTH_BASE_OHM + length * per_metre / 1000
    if area is not None and area <= THIN_MM2:
        begun = max(0, -int(-(length - 5) // 7.5))
        limit = min(limit, 0.3 + 0.1 * begun, 1.0)
    return computed(limit), tuple(assumed)


def earth_continuity(check: Check, context: Context) -> Limit:
    """Return the limit of the earth path.

    Flexed, and with the reading at rest known (`still_ohm`), it may not move from
    that by 0.02 ohm or more either.
    """
    limit, assumed = earth_limit_ohm(context)
    still = number(context, "still_ohm", least=-FLEX_OHM)
    if still is None or recorded(context, "condition") != "flexed":
        return Limit(check.unit, check.source, high=limit, assumed=assumed)
    low, high = computed(still - FLEX_OHM), computed(still + FLEX_OHM)
    return Limit(
        check.unit,
        check.source,
        low=low,
        high=min(limit, high),
        low_excluded=True,
        high_excluded=high <= limit,
        assumed=assumed,
    )


def path_limit_mohm(context: Context) -> float | None:
    """Return the limit of a power path in mohm, None if length or area is missing."""
    length = number(context, "cable_length_m")
    area = number(context, "conductor_area_mm2")
    if length is None or area is None:
        return None
    conductor = COPPER_MOHM_MM2_PER_M / area * length
    added = min(PATH_SHARE * conductor + PATH_ADDED_MOHM, PATH_MOST_MOHM)
    return computed(conductor + added)


def path_resistance(check: Check, context: Context) -> Limit:
    """Return the limit of a power path; without area and length there is none.

    With the readings of the other poles known (`other_poles_mohm`, a sequence), a
    pole may not lie above the best of them by more than 20 % or 5 mohm either.
    """
    limit, alike = path_limit_mohm(context), _alike_mohm(context)
    if limit is None:
        why = "cable length or conductor area not recorded"
        if alike is None:
            return _open_question(check, why)
        why += f"; against the other poles at most {in_words(alike)} mohm"
        return _open_question(check, why, between=((float("-inf"), alike),))
    high = limit if alike is None else min(limit, alike)
    return Limit(check.unit, check.source, high=high)


def _alike_mohm(context: Context) -> float | None:
    others = context.get("other_poles_mohm")
    if not isinstance(others, (list, tuple)) or not others:
        return None
    best = min(float(other) for other in others)
    return computed(best + min(POLE_SHARE * best, POLE_MOHM))


def core_localisation(check: Check, context: Context) -> Limit:
    """Return the limit of one core: signal, power or earth, by the point.

    A core not named may be a power core, whose limit is the strictest.
    """
    point = str(recorded(context, "point") or "").strip().upper()
    if point in SIGNAL_CORES:
        return Limit(check.unit, check.source, high=CORE_OHM)
    earth, assumed = earth_limit_ohm(context)
    if point == "PE":
        return Limit(check.unit, check.source, high=earth, assumed=assumed)
    power = path_limit_mohm(context)
    if power is None:
        why = "cable length or conductor area not recorded"
        why = why if point in POWER_CORES else f"core not named; {why}"
        return _open_question(check, why, between=((float("-inf"), CORE_OHM),))
    power = computed(power / 1000)
    if point in POWER_CORES:
        return Limit(check.unit, check.source, high=power)
    assumed = ("core not named, the strictest limit taken", *assumed)
    return Limit(check.unit, check.source, high=min(power, earth), assumed=assumed)


def contactor_open(check: Check, context: Context) -> Limit:
    """Return the limit of an open pole; between welded and good it is undefined.

    Raises
    ------
    ValueError
        If the model's value would let a welded pole pass.
    """
    own = number(context, "contactor_open_ohm")
    if own is not None and own <= WELDED_BELOW_OHM:
        raise ValueError(
            f"contactor_open_ohm of {own:g} would let a welded pole pass; it must be"
            f" above {WELDED_BELOW_OHM:g} ohm"
        )
    low = check.low if own is None else own
    band = (WELDED_BELOW_OHM, low if low is not None else WELDED_BELOW_OHM)
    return Limit(check.unit, check.source, low=low, between=(band,))


def control_supply_voltage(check: Check, context: Context) -> Limit:
    """Return the model's electronics supply within 5 %."""
    own = number(context, "control_supply_v")
    if own is None:
        return _open_question(check, "the model's electronics supply is not known")
    return _within(check, own, CONTROL_SUPPLY_SHARE * own)


def contactor_coil(check: Check, context: Context) -> Limit:
    """Return the model's coil within 20 %; an open coil fails for any model."""
    own = number(context, "coil_ohm")
    if own is None:
        why = "the model's coil resistance is not known"
        return _open_question(check, why, between=((float("-inf"), NO_COIL_OHM),))
    return _within(check, own, COIL_SHARE * own)


def _within(check: Check, nominal: float, tolerance: float) -> Limit:
    low, high = computed(nominal - tolerance), computed(nominal + tolerance)
    return Limit(check.unit, check.source, low=low, high=high)


def _open_question(
    check: Check, why: str, *, between: tuple[tuple[float, float], ...] | None = None
) -> Limit:
    """Return a limit without a window: undefined inside `between`, else everywhere."""
    everywhere = ((float("-inf"), float("inf")),)
    return Limit(
        check.unit,
        check.source,
        window=False,
        between=everywhere if between is None else between,
        assumed=(why,),
    )
