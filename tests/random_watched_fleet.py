"""A small fleet for the watch: lots of two models, with suppliers, sold over time."""

import numpy as np

from analytics.statistics.watch_families import Family, WatchedFleet


def watched_fleet(rng, *, n_looks=36, n_lots=8, n_modes=6, per_look=30.0, cluster=1.4):
    """Return a fleet and families of it; a kind is a lot and a supplier."""
    n_suppliers, n_ages = 2, n_looks
    lot, supplier = (x.ravel() for x in np.indices((n_lots, n_suppliers)))
    birth = np.sort(rng.integers(0, n_looks - 6, n_lots))
    birth[: n_lots // 3 + 1] = 0
    rows = [
        (kind, look, look - birth[lot[kind]])
        for kind in range(len(lot))
        for look in range(birth[lot[kind]], n_looks)
    ]
    kind, look, age = np.array(rows).T
    exposure = rng.uniform(1, 5, len(lot))[kind]
    rate = rng.uniform(0.5, 2, n_modes)[:, None] * (1 + np.arange(n_ages) / 20)
    mean = rate[:, age] * exposure
    mean *= per_look * n_looks / mean.sum() / cluster
    mode, row = np.nonzero(n := rng.poisson(mean))
    size = n[mode, row] + rng.binomial(n[mode, row], cluster - 1)
    mode, row = np.repeat(mode, size), np.repeat(row, size)
    fleet = WatchedFleet(
        n_looks=n_looks,
        n_kinds=len(lot),
        n_modes=n_modes,
        n_ages=n_ages,
        kind=kind,
        look=look,
        age=age,
        exposure=exposure,
        failure_kind=kind[row],
        failure_look=look[row],
        failure_age=age[row],
        failure_mode=mode,
    )
    group, nothing = np.arange(n_modes) % 3, np.zeros(len(lot), dtype=np.int64)
    return fleet, [
        Family("group", group, nothing),
        Family("model", group, lot % 2),
        Family("supplier", np.arange(n_modes), supplier),
        Family("lot", group, lot),
    ]
