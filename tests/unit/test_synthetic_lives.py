"""Ages are drawn from the stated laws; the laws are recomputed with scipy.stats."""

from typing import Any

import numpy as np
import pytest
from scipy import stats

from synthetic_data import scenario
from synthetic_data.lives import draw_lives
from synthetic_data.register import lot_frailties
from synthetic_data.truth import planted_laws

LAW_NAMES = [name for name, law in planted_laws().items() if law["is_failure"]]


def frozen(law: dict[str, Any]) -> Any:
    if law["law"] == "weibull":
        return stats.weibull_min(law["shape"], scale=law["scale_days"])
    return stats.lognorm(law["sigma"], scale=law["median_days"])


@pytest.fixture(scope="module")
def latent() -> dict[str, np.ndarray]:
    rng = np.random.default_rng(5)
    drawn = draw_lives(np.ones((3000, len(LAW_NAMES))), rng)
    return dict(zip(LAW_NAMES, drawn.T, strict=True))


@pytest.mark.parametrize("name", LAW_NAMES)
def test_each_mode_alone_follows_its_stated_law(
    name: str, latent: dict[str, np.ndarray]
) -> None:
    law = frozen(planted_laws()[name])

    found = stats.kstest(latent[name], law.cdf)

    assert found.pvalue > 0.05 / len(LAW_NAMES)  # Bonferroni over the modes


def test_a_shape_a_tenth_off_would_be_noticed(latent: dict[str, np.ndarray]) -> None:
    law = planted_laws()["handle_power_pin_overheated"]
    wrong = stats.weibull_min(1.1 * law["shape"], scale=law["scale_days"])

    found = stats.kstest(latent["handle_power_pin_overheated"], wrong.cdf)

    assert found.pvalue < 0.05 / len(LAW_NAMES)


def test_a_doubled_hazard_ratio_gives_the_stated_law_raised_to_it() -> None:
    rng = np.random.default_rng(6)
    lives = draw_lives(np.full((3000, len(LAW_NAMES)), 2.0), rng)

    for column in (LAW_NAMES.index("handle_latch_jammed"), 0):
        law = frozen(planted_laws()[LAW_NAMES[column]])
        found = stats.kstest(
            lives[:, column], lambda age, law=law: 1 - law.sf(age) ** 2
        )
        assert found.pvalue > 0.001


def test_there_are_twenty_modes_or_more_with_falling_steady_and_rising_hazard() -> None:
    shapes = [law["shape"] for law in planted_laws().values() if "shape" in law]

    assert len(LAW_NAMES) >= 20
    assert min(sum(s < 1 for s in shapes), sum(s == 1 for s in shapes)) >= 5
    assert sum(s > 1.2 for s in shapes) >= 5
    assert any(law["law"] == "lognormal" for law in planted_laws().values())


def test_lot_factors_are_gamma_with_mean_one_and_the_stated_variation() -> None:
    # Forty fleets together: one fleet has some 300 lots only.
    factors = np.concatenate(
        [
            list(lot_frailties(np.random.default_rng(seed)).values())
            for seed in range(40)
        ]
    )
    cv = scenario.LOT_FRAILTY_CV

    found = stats.kstest(factors, stats.gamma(cv**-2, scale=cv**2).cdf)

    assert found.pvalue > 0.01
    assert factors.std() / factors.mean() == pytest.approx(0.3, abs=0.01)
