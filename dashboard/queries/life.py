"""How long units last before their first confirmed failure."""

from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.errors import InsufficientDataError
from analytics.rollup.snapshot import Snapshot
from analytics.statistics.competing_risks import cumulative_incidence
from analytics.statistics.distributions import LifeFit, fit_life
from analytics.statistics.life import kaplan_meier
from dashboard.filters import Filters
from dashboard.queries.answer import Answer, Row

Distribution = Literal["weibull", "lognormal", "exponential"]
DISTRIBUTIONS: tuple[Distribution, ...] = get_args(Distribution)
FRACTIONS = (0.01, 0.05, 0.10, 0.50)
FEW_FAILURES = 20  # below, Wald intervals cover too little (METHODS: likelihood ratio)

Floats = NDArray[np.float64]
Counts = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class _Lives:
    """Counts of lives at distinct ages (days), and where units come into view."""

    age: Floats
    lower: Floats  # NaN = the failure day itself is known
    n_failed: Counts
    n_other: Counts
    n_censored: Counts
    entry_age: Floats
    n_entered: Counts
    n_ending_open: int
    n_estimated_start: int

    @property
    def n_units(self) -> int:
        return int(self.n_entered.sum())


def life(
    snapshot: Snapshot, filters: Filters, *, distribution: Distribution = "weibull"
) -> Answer:
    """Return the curve, the fit and the ages by which given fractions have failed.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters
        `from` and `to` choose by the in-service day. Filters of the failure (mode,
        component, severity, mechanism, cause, opened before arrival) choose which
        failures count; other failures then censor, the fit is cause-specific, and the
        rows carry the incidence beside other failures.
    distribution : {"weibull", "lognormal", "exponential"}

    Returns
    -------
    Answer
        Rows: age_days, survival, low, high, n_at_risk, n_failed (and incidence,
        incidence_low, incidence_high). More: fit, b_lives, left_out, n_units,
        n_failed, n_other_failures, n_open (open cases of these units),
        n_ending_open (lives that end with one of them), n_failed_on_day_0,
        n_estimated_start, observation_end, delay_days, delay_source, largest_age.

    Raises
    ------
    InsufficientDataError
        No unit with usable dates, or too few failures for the distribution.
    """
    lives = _lives(snapshot, filters)
    if not lives.n_units:
        raise InsufficientDataError(
            "units with usable dates under the filters", needed=1, found=0
        )
    fit = _fit(lives, distribution)
    is_chosen = filters.names_failures
    about = snapshot.about
    asked_open = snapshot.ask("life_open", filters.parameters(), chosen="chosen_units")
    return Answer(
        about=about,
        filters=filters,
        method=_method(distribution, is_chosen=is_chosen, fit=fit),
        rows=_rows(lives, with_incidence=is_chosen),
        more={
            "fit": _fit_stated(fit, distribution, lives),
            "b_lives": _b_lives(fit, largest_age=float(lives.age.max())),
            "left_out": _left_out(snapshot, filters),
            "n_units": lives.n_units,
            "n_failed": int(lives.n_failed.sum()),
            "n_other_failures": int(lives.n_other.sum()),
            "n_open": int(asked_open["n_cases"].iloc[0]),
            "n_ending_open": lives.n_ending_open,
            "n_estimated_start": lives.n_estimated_start,
            "n_failed_on_day_0": int(lives.n_failed[lives.age == 0].sum()),
            "largest_age": float(lives.age.max()),
            "observation_end": about.observation_end,
            "delay_days": about.delay_days,
            "delay_source": about.delay_source,
        },
        invented=about.is_invented,
    )


def _lives(snapshot: Snapshot, filters: Filters) -> _Lives:
    asked = filters.parameters()
    ends = snapshot.ask("life_ends", asked, chosen="chosen_lives")
    entries = snapshot.ask("life_entries", asked, chosen="chosen_lives")
    return _Lives(
        age=_floats(ends, "end_age"),
        lower=_floats(ends, "lower_age"),
        n_failed=_counts(ends, "n_failed"),
        n_other=_counts(ends, "n_other"),
        n_censored=_counts(ends, "n_censored"),
        entry_age=_floats(entries, "entry_age"),
        n_entered=_counts(entries, "n_entered"),
        n_ending_open=int(_counts(entries, "n_open").sum()),
        n_estimated_start=int(_counts(entries, "n_estimated_start").sum()),
    )


def _floats(frame: pd.DataFrame, column: str) -> Floats:
    return frame[column].to_numpy(dtype=np.float64, na_value=np.nan)


def _counts(frame: pd.DataFrame, column: str) -> Counts:
    return frame[column].to_numpy(dtype=np.int64)


def _fit(lives: _Lives, distribution: Distribution) -> LifeFit:
    # A failure on day 0 and one with a last known good day are known only to lie in
    # an interval; every other failure has its day.
    is_bracketed = (~np.isnan(lives.lower) | (lives.age == 0)) & (lives.n_failed > 0)
    exact = np.where(is_bracketed, 0, lives.n_failed)
    censored = lives.n_censored + lives.n_other
    used = (exact + censored > 0) & (lives.age > 0)  # S(0) = 1: age 0 tells nothing
    upper = np.where(lives.age == 0, 1.0, lives.age)[is_bracketed]
    return fit_life(
        lives.age[used],
        exact[used],
        censored[used],
        distribution=distribution,
        entry_age=lives.entry_age,
        n_entered=lives.n_entered,
        lower=np.nan_to_num(lives.lower[is_bracketed]),
        upper=upper,
        n_interval=lives.n_failed[is_bracketed],
    )


def _interval_method(fit: LifeFit) -> Literal["likelihood", "wald"]:
    return "likelihood" if fit.n_failed < FEW_FAILURES else "wald"


def _fit_stated(fit: LifeFit, distribution: str, lives: _Lives) -> Row:
    method = _interval_method(fit)
    intervals = {
        name: fit.parameter_interval(name, method=method) for name in fit.parameters
    }
    return {
        "distribution": distribution,
        "parameters": dict(fit.parameters),
        "intervals": intervals,
        "interval_method": method,
        "log_likelihood": fit.log_likelihood,
        "aicc": fit.aicc,
        "n_failed": int(lives.n_failed.sum()),
        "n_units": lives.n_units,
    }


def _b_lives(fit: LifeFit, *, largest_age: float) -> list[Row]:
    method = _interval_method(fit)
    rows: list[Row] = []
    for fraction in FRACTIONS:
        age = float(np.ravel(fit.quantile(fraction))[0])
        low, high = fit.quantile_interval(fraction, method=method)
        rows.append(
            {
                "failed_fraction": fraction,
                "age_days": age,
                "low": float(np.ravel(low)[0]),
                "high": float(np.ravel(high)[0]),
                "n_failed": fit.n_failed,
                "extrapolated": age > largest_age,
            }
        )
    return rows


def _rows(lives: _Lives, *, with_incidence: bool) -> list[Row]:
    ages, group = np.unique(lives.age, return_inverse=True)
    failed = np.bincount(group, weights=lives.n_failed).astype(np.int64)
    other = np.bincount(group, weights=lives.n_other).astype(np.int64)
    censored = np.bincount(group, weights=lives.n_censored).astype(np.int64)
    entry, entered = lives.entry_age, lives.n_entered
    curve = kaplan_meier(
        ages, failed, censored + other, entry_age=entry, n_entered=entered
    )
    columns = {
        "age_days": curve.age,
        "survival": curve.survival,
        "low": curve.low,
        "high": curve.high,
        "n_at_risk": curve.n_at_risk,
        "n_failed": failed,
    }
    if with_incidence:
        by_mode = np.stack([failed, other], axis=1)
        share = cumulative_incidence(
            ages, by_mode, censored, entry_age=entry, n_entered=entered
        )
        columns |= {
            "incidence": share.incidence[:, 0],
            "incidence_low": share.low[:, 0],
            "incidence_high": share.high[:, 0],
        }
    # The curve steps where a unit failed; the last age says how far it reaches.
    shown = (failed + other > 0) | (ages == ages.max())
    chosen = {name: np.asarray(values)[shown] for name, values in columns.items()}
    return [
        dict(zip(chosen, (value.item() for value in row), strict=True))
        for row in zip(*chosen.values(), strict=True)
    ]


def _left_out(snapshot: Snapshot, filters: Filters) -> dict[str, int]:
    units = snapshot.ask("life_left_out", filters.parameters(), chosen="chosen_units")
    left_out = dict(zip(units["reason"], map(int, units["n_units"]), strict=True))
    n_unknown = int(snapshot.ask("unknown_serials")["n_cases"].iloc[0])
    return left_out | ({"unknown_serial": n_unknown} if n_unknown else {})


def _method(distribution: str, *, is_chosen: bool, fit: LifeFit) -> str:
    curve = "Kaplan-Meier curve with log-log 95 % limits"
    law = f"{distribution} law by maximum likelihood from counts"
    names = {"wald": "Wald", "likelihood": "likelihood-ratio"}
    limits = f"{names[_interval_method(fit)]} 95 % intervals"
    text = f"First failures only. {curve}; {law}, {limits}; delayed entry counted."
    if is_chosen:
        text += (
            " Other failures end a life here: the curve and the fit say what would be "
            "if other failures did not exist, which the data cannot show; the "
            "incidence (Aalen-Johansen) needs no such assumption."
        )
    return text
