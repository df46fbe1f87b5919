"""Laws fitted to the lives: which one, what it says, and where the curve says no."""

from collections.abc import Mapping
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from analytics.errors import InsufficientDataError
from analytics.statistics.distributions import Distribution, LifeFit
from analytics.statistics.goodness import anderson_darling, outside_band
from analytics.statistics.law_choice import LawChoice, choose_law
from analytics.statistics.plotted_points import (
    PlottedPoints,
    line_through_points,
    plotted_points,
)
from analytics.statistics.survival_band import SurvivalBand
from dashboard.queries.answer import Row
from dashboard.queries.life_law_words import choice_in_words
from dashboard.queries.life_lives import Lives, fit_of

WAY_ON = (
    "Choose a wider group, wait for more confirmed cases, or take a Weibull shape as "
    "known: `assumed_shape` (`--assumed-shape`)."
)
DISTRIBUTIONS: tuple[Distribution, ...] = get_args(Distribution)
FEW_FAILURES = 20  # below, Wald intervals cover too little
B10 = 0.10
POSITION_IN_WORDS = "at the middle of each step of the curve"

Floats = NDArray[np.float64]


def interval_method(fit: LifeFit) -> Literal["likelihood", "wald"]:
    """Return how the intervals of a fit are made: by likelihood ratio if few failed."""
    return "likelihood" if fit.n_failed < FEW_FAILURES else "wald"


def fits_of(lives: Lives, distribution: Distribution) -> dict[Distribution, LifeFit]:
    """Return every law that the lives allow; the one asked for comes first.

    Raises
    ------
    InsufficientDataError
        Too few failures for the law asked for.
    """
    try:
        fits = {distribution: fit_of(lives, distribution)}
    except InsufficientDataError as error:
        raise InsufficientDataError(
            error.what, needed=error.needed, found=error.found, hint=WAY_ON
        ) from None
    for name in DISTRIBUTIONS:
        if name != distribution:
            try:
                fits[name] = fit_of(lives, name)
            except InsufficientDataError:
                continue  # the law asked for needs fewer failures than this one
    return fits


def stated(fit: LifeFit, lives: Lives) -> Row:
    """Return a fit as plain values."""
    method = interval_method(fit)
    return {
        "distribution": fit.distribution,
        "parameters": dict(fit.parameters),
        "intervals": {
            name: fit.parameter_interval(name, method=method) for name in fit.parameters
        },
        "interval_method": method,
        "log_likelihood": fit.log_likelihood,
        "aicc": fit.aicc,
        "n_failed": int(lives.n_failed.sum()),
        "n_units": lives.n_units,
    }


def age_of(fit: LifeFit, fraction: float) -> tuple[float, float, float]:
    """Return the age by which a fraction has failed, and its limits."""
    low, high = fit.quantile_interval(fraction, method=interval_method(fit))
    return float(fit.quantile(fraction)), float(low), float(high)


def compared(
    fits: Mapping[Distribution, LifeFit],
    lives: Lives,
    points: PlottedPoints,
    band: SurvivalBand | None,
) -> tuple[list[Row], Row]:
    """Return a row for each law, and which to prefer in a sentence."""
    choice = choose_law({str(name): fit for name, fit in fits.items()})
    rows = [_law(name, fit, lives, points, band, choice) for name, fit in fits.items()]
    return rows, {
        "best": choice.best,
        "tied": list(choice.tied) if choice.best else [],
        "sentence": choice_in_words(choice),
    }


def _law(
    name: Distribution,
    fit: LifeFit,
    lives: Lives,
    points: PlottedPoints,
    band: SurvivalBand | None,
    choice: LawChoice,
) -> Row:
    b10, low, high = age_of(fit, B10)
    row = stated(fit, lives)
    return {
        **{key: row[key] for key in ("distribution", "parameters", "intervals")},
        "log_likelihood": fit.log_likelihood,
        **_standing(name, choice),
        "b10_days": b10,
        "b10_low": low,
        "b10_high": high,
        "n_failed": fit.n_failed,
        **_complete_data(name, lives),
        **_line(name, points),
        **_outside(fit, band),
    }


def _standing(name: str, choice: LawChoice) -> Row:
    if choice.best is None:
        return dict.fromkeys(("aicc_failures", "aicc_difference", "standing"))
    aicc = choice.aicc[name]
    standing = "worse"
    if name in choice.tied:
        standing = "tie" if len(choice.tied) > 1 else "best"
    return {
        "aicc_failures": aicc,
        "aicc_difference": aicc - choice.aicc[choice.best],
        "standing": standing,
    }


def _complete_data(name: Distribution, lives: Lives) -> Row:
    # The statistic is for complete data: every unit failed, on a known day, from new.
    nothing: Row = {"anderson_darling": None, "anderson_darling_p": None}
    events = lives.events
    is_complete = (
        lives.n_failed.sum() == lives.n_units
        and not lives.entry_age.any()
        and not events["lower_age"].notna().any()
        and bool((events["end_age"] > 0).all())
    )
    if not is_complete:
        return nothing
    try:
        found = anderson_darling(lives.age, lives.n_failed, distribution=name)
    except InsufficientDataError:
        return nothing
    return {
        "anderson_darling": found.statistic,
        "anderson_darling_p": found.p_value,
    }


def _line(name: Distribution, points: PlottedPoints) -> Row:
    try:
        line = line_through_points(points, distribution=name)
    except InsufficientDataError:
        return {"line_parameters": None, "line_r_squared": None}
    return {
        "line_parameters": dict(line.parameters),
        "line_r_squared": line.r_squared,
    }


def _outside(fit: LifeFit, band: SurvivalBand | None) -> Row:
    stretches = [] if band is None else _stretches(fit, band)
    return {
        "outside_from": stretches[0][0] if stretches else None,
        "outside_to": stretches[-1][1] if stretches else None,
        "outside_between": stretches,
    }


def _stretches(fit: LifeFit, band: SurvivalBand) -> list[tuple[float, float]]:
    # Ages of the band that follow each other, first and last of each run.
    places = np.searchsorted(band.age, outside_band(fit, band).age)
    if not len(places):
        return []
    runs = np.split(places, np.flatnonzero(np.diff(places) > 1) + 1)
    return [(float(band.age[run[0]]), float(band.age[run[-1]])) for run in runs]


def plotted(lives: Lives) -> PlottedPoints:
    """Return the failures asked for as points, at the middle of each step."""
    return plotted_points(
        lives.age,
        lives.n_failed,
        lives.n_censored + lives.n_other,
        entry_age=lives.entry_age,
        n_entered=lives.n_entered,
        position="midpoint",
    )
