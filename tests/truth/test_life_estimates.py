"""From files to the fit: the laws the fleet was drawn from are found again.

Six invented fleets with fixed seeds go through files, store, publish and query. For
each of three modes with a planted Weibull law the 95 % intervals of shape and scale
should hold the planted values 95 times in 100; the count that do is held against the
0.1 % point of the binomial law. (Likelihood-ratio intervals below 20 failures, Wald
from there on; lots differ by a frailty of CV 0.3, which the fit does not know.)
"""

import pytest
from scipy import stats

from analytics.rollup.publish import publish
from analytics.rollup.snapshot import current_snapshot
from dashboard.filters import Filters
from dashboard.queries.life import life
from ingest.pipeline import ingest_paths
from synthetic_data.fleet import write_fleet
from synthetic_data.truth import planted_laws
from tests.counts_alone import counts_alone

SEEDS = range(101, 107)
N_UNITS = 8000
MODES = ("handle_power_pin_overheated", "control_supply_failed", "handle_latch_broken")
UNLIKELY = 0.001


@pytest.fixture(scope="module")
def fits(tmp_path_factory):
    found = []
    for seed in SEEDS:
        folder = tmp_path_factory.mktemp(f"seed{seed}")
        made = write_fleet(folder, n_units=N_UNITS, seed=seed)
        store = folder / "store.duckdb"
        ingest_paths(store, [made.units, made.repairs, made.readings])
        with counts_alone():
            publish(store, folder / "published")
        snapshot = current_snapshot(folder / "published")
        found += [
            (mode, life(snapshot, Filters(mode=(mode,))).more["fit"]) for mode in MODES
        ]
    return found


@pytest.mark.parametrize(
    ("parameter", "planted"), [("shape", "shape"), ("scale", "scale_days")]
)
def test_intervals_hold_the_planted_law_at_their_stated_rate(fits, parameter, planted):
    laws = planted_laws()

    n_held = sum(
        low <= laws[mode][planted] <= high
        for mode, fit in fits
        for low, high in [fit["intervals"][parameter]]
    )

    assert n_held >= stats.binom.ppf(UNLIKELY, len(fits), 0.95)


def test_the_fits_rest_on_failures_enough_to_mean_something(fits):
    assert min(fit["n_failed"] for _, fit in fits) >= 10
