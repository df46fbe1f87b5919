"""How long units last before their first confirmed failure."""

from analytics.rollup.snapshot import Snapshot
from analytics.statistics.distributions import Distribution, LifeFit
from dashboard.filters import Filters
from dashboard.queries import (
    life_ages,
    life_assumed,
    life_brackets,
    life_curve,
    life_groups,
    life_law_words,
    life_laws,
    life_left_out,
    life_modes,
    life_open,
)
from dashboard.queries.answer import Answer, Row
from dashboard.queries.life_choice import (
    Comparison,
    GroupWord,
    checked_ages,
    checked_shapes,
)
from dashboard.queries.life_laws import DISTRIBUTIONS
from dashboard.queries.life_lives import Lives, lives_under

BAND_IN_WORDS = " and an equal-precision 95 % band for the whole curve"

__all__ = ["DISTRIBUTIONS", "Distribution", "life"]


def life(
    snapshot: Snapshot,
    filters: Filters,
    *,
    distribution: Distribution = "weibull",
    by: GroupWord | None = None,
    group: tuple[str, ...] = (),
    within: GroupWord | None = None,
    age: tuple[float, ...] = (),
    assumed_shape: tuple[float, ...] = (),
) -> Answer:
    """Return the curve, the laws, the incidence by mode, and two groups compared.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters
        `from` and `to` choose by the in-service day. Filters of the failure (mode,
        component, severity, mechanism, cause, opened before arrival) choose which
        failures count; other failures then censor, the fit is cause-specific, and the
        rows carry the incidence beside other failures.
    distribution : {"weibull", "lognormal", "exponential"}
    by, group, within
        Two groups to compare, see `life_choice.Comparison`.
    age : tuple of float
        Ages in days at which the failed share is asked; empty: the usual ones.
    assumed_shape : tuple of float
        One or two Weibull shapes taken as known, for few failures: no law is fitted.

    Returns
    -------
    Answer
        Rows: age_days, survival, low, high, band_low, band_high (of the whole curve;
        NaN outside the ages of the band), n_at_risk, n_failed (and incidence,
        incidence_low, incidence_high). More: fit, laws, choice, b_lives, failed_by,
        median, restricted_mean, contradicted, points, hazard, frequency, bracketed,
        modes, incidence, without, comparison, open, assumed, left_out, not_counted,
        n_units, n_failed, n_other_failures, n_open (open cases of these units),
        n_ending_open (lives that end with one), n_failed_on_day_0, n_estimated_start,
        observation_end, delay_days, delay_source, largest_age.

    Raises
    ------
    InsufficientDataError
        No unit with usable dates, a register of mainly returned units, or too few
        failures for the law.
    UsageError
        Words that do not go together, an age or a shape out of range.
    """
    comparison = Comparison(by, tuple(group), within)
    ages, shapes = checked_ages(age), checked_shapes(assumed_shape)
    lives = lives_under(snapshot, filters)
    curve, band = life_curve.curve_and_band(lives)
    counts = life_left_out.counts_under(snapshot, filters)
    more: dict[str, object] = {
        **dict.fromkeys(
            ("fit", "choice", "contradicted", "frequency", "open", "assumed")
        ),
        "points": [],
        "laws": [],
        "b_lives": [],
    }
    fit = None
    if shapes is None:
        fits = life_laws.fits_of(lives, distribution)
        fit = fits[distribution]
        points = life_laws.plotted(lives)
        laws, choice = life_laws.compared(fits, lives, points, band)
        more |= {
            "points": life_curve.point_rows(points),
            "points_position": life_laws.POSITION_IN_WORDS,
            "fit": life_laws.stated(fit, lives),
            "laws": laws,
            "choice": choice,
            "b_lives": life_ages.b_lives(fit, largest_age=lives.largest_age),
            "contradicted": life_law_words.contradiction(
                laws[0], largest_age=lives.largest_age
            ),
            "frequency": life_law_words.frequency(laws),
            "open": life_open.with_open_cases(lives, fit, distribution, counts),
        }
    else:
        more["assumed"] = life_assumed.assumed(lives, shapes)
    modes, incidence = life_modes.by_mode(lives, curve)
    asked = life_ages.asked_ages(ages, largest_age=lives.largest_age)
    more |= {
        "failed_by": life_ages.failed_by(fit, curve, lives, asked),
        "median": life_ages.median(curve),
        "restricted_mean": life_ages.mean_life(lives, curve),
        "hazard": life_ages.rates(lives),
        "bracketed": life_brackets.bracketed(lives, curve, asked),
        "modes": modes,
        "incidence": incidence,
        "without": life_modes.without(lives, filters),
        "comparison": life_groups.compared(snapshot, filters, comparison, asked),
        "left_out": counts.left_out,
        "not_counted": life_left_out.not_counted(snapshot, lives, counts),
    }
    return Answer(
        about=snapshot.about,
        filters=filters,
        method=_method(fit, has_band=band is not None, is_part=filters.names_failures),
        rows=life_curve.rows(lives, curve, band, with_incidence=filters.names_failures),
        more=more | _counted(snapshot, lives, counts),
        invented=snapshot.about.is_invented,
        asked=_asked(
            distribution=distribution,
            by=by,
            group=list(group),
            within=within,
            age=list(age),
            assumed_shape=list(assumed_shape),
        ),
    )


def _asked(**words: object) -> Row:
    # What differs from the usual question, so that a file says what it shows.
    usual = {"distribution": DISTRIBUTIONS[0]}
    return {
        name: value
        for name, value in words.items()
        if value and usual.get(name) != value
    }


def _counted(snapshot: Snapshot, lives: Lives, counts: life_left_out.Counts) -> Row:
    about = snapshot.about
    return {
        "n_units": lives.n_units,
        "n_failed": int(lives.n_failed.sum()),
        "n_other_failures": int(lives.n_other.sum()),
        "n_open": counts.n_open,
        "n_ending_open": int(lives.n_open.sum()),
        "n_estimated_start": lives.n_estimated_start,
        "n_failed_on_day_0": int(lives.n_failed[lives.age == 0].sum()),
        "largest_age": lives.largest_age,
        "observation_end": about.observation_end,
        "delay_days": about.delay_days,
        "delay_source": about.delay_source,
    }


def _method(fit: LifeFit | None, *, has_band: bool, is_part: bool) -> str:
    names = {"wald": "Wald", "likelihood": "likelihood-ratio"}
    law = "no law fitted, a Weibull shape assumed"
    if fit is not None:
        law = (
            f"{life_law_words.in_words(fit.distribution)} law by maximum likelihood "
            f"from counts, {names[life_laws.interval_method(fit)]} 95 % intervals"
        )
    text = (
        "First failures only. Kaplan-Meier curve with log-log 95 % limits"
        f"{BAND_IN_WORDS if has_band else ''}; {law}; delayed entry counted."
    )
    if is_part:
        text += (
            " Other failures end a life here: the curve and the fit say what would be "
            "if other failures did not exist, which the data cannot show; the "
            "incidence (Aalen-Johansen) needs no such assumption."
        )
    return text
