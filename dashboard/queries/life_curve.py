"""The curve of the life answer: survival by age with limits, band and incidence."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from analytics.errors import InsufficientDataError
from analytics.statistics.competing_risks import cumulative_incidence
from analytics.statistics.life import SurvivalCurve, kaplan_meier
from analytics.statistics.plotted_points import PlottedPoints
from analytics.statistics.survival_band import SurvivalBand, survival_band
from dashboard.queries.answer import Row
from dashboard.queries.life_lives import Lives

Column = NDArray[np.generic]


def curve_and_band(lives: Lives) -> tuple[SurvivalCurve, SurvivalBand | None]:
    """Return the curve, and the band that holds all of it; None if too few failed."""
    censored = lives.n_censored + lives.n_other
    curve = kaplan_meier(
        lives.age,
        lives.n_failed,
        censored,
        entry_age=lives.entry_age,
        n_entered=lives.n_entered,
    )
    try:
        band = survival_band(
            lives.age,
            lives.n_failed,
            censored,
            entry_age=lives.entry_age,
            n_entered=lives.n_entered,
        )
    except InsufficientDataError:
        band = None
    return curve, band


def rows(
    lives: Lives,
    curve: SurvivalCurve,
    band: SurvivalBand | None,
    *,
    with_incidence: bool,
) -> list[Row]:
    """Return the curve as rows, one for each age at which a unit failed."""
    columns: dict[str, Column] = {
        "age_days": curve.age,
        "survival": curve.survival,
        "low": curve.low,
        "high": curve.high,
        **_band_at(curve, band),
        "n_at_risk": curve.n_at_risk,
        "n_failed": lives.n_failed,
    }
    if with_incidence:
        share = cumulative_incidence(
            lives.age,
            np.stack([lives.n_failed, lives.n_other], axis=1),
            lives.n_censored,
            entry_age=lives.entry_age,
            n_entered=lives.n_entered,
        )
        columns |= {
            "incidence": share.incidence[:, 0],
            "incidence_low": share.low[:, 0],
            "incidence_high": share.high[:, 0],
        }
    # The curve steps where a unit failed; the last age says how far it reaches.
    shown = lives.n_failed + lives.n_other > 0
    shown[-1] = True
    return _as_rows({name: values[shown] for name, values in columns.items()})


def _band_at(curve: SurvivalCurve, band: SurvivalBand | None) -> Mapping[str, Column]:
    low, high = (np.full(len(curve.age), np.nan) for _ in range(2))
    if band is not None:
        where = np.searchsorted(curve.age, band.age)
        low[where], high[where] = band.low, band.high
    return {"band_low": low, "band_high": high}


def point_rows(points: PlottedPoints) -> list[Row]:
    """Return the plotted failures as rows."""
    return _as_rows(
        {
            "age_days": points.age,
            "n_failed": points.n_failed,
            "failed_fraction": points.failed_fraction,
        }
    )


def _as_rows(columns: Mapping[str, Column]) -> list[Row]:
    lists = [values.tolist() for values in columns.values()]
    return [dict(zip(columns, row, strict=True)) for row in zip(*lists, strict=True)]
