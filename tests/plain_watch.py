"""The watch written plainly, look by look and stratum by stratum, from its definition.

Slow and without any of the shortcuts of `analytics.statistics.watch_evidence`: what the
fast version must agree with.
"""

import math


def plain_watch(scaled, expected, counts, variance, threshold, known=()):
    """Return evidence (T x N, None without a failure) and alarms [(look, stratum)].

    scaled, expected: scaled failures and expected failures, lists of looks; counts: the
    failures themselves; variance: of the levels; threshold: by look, None for none.
    """
    n_looks, n_strata = len(counts), len(counts[0])
    evidence = [[None] * n_strata for _ in range(n_looks)]
    alarms = []
    for stratum in range(n_strata):
        restart, silent_to = 0, -1
        for look in range(n_looks):
            if counts[look][stratum]:
                evidence[look][stratum] = _evidence(
                    [row[stratum] for row in scaled],
                    [row[stratum] for row in expected],
                    [row[stratum] for row in counts],
                    variance,
                    look,
                    restart,
                )
            found = evidence[look][stratum]
            raised = (
                found is not None
                and threshold[look] is not None
                and found >= threshold[look]
                and look > silent_to
            )
            if raised or (look, stratum) in known:
                alarms.append((look, stratum))
                restart, silent_to = look + 1, look + 12
    return evidence, sorted(alarms)


def _evidence(y, m, counts, variance, look, restart):
    before = max(look + 1 - 12, restart)
    alpha = 1 / variance + sum(y[:before] if before > 0 else [])
    beta = 1 / variance + sum(m[:before] if before > 0 else [])
    best = 0.0
    for window in (3, 6, 12):
        start = max(look + 1 - window, restart, 0)
        total = sum(y[start : look + 1])
        usual = alpha / beta * sum(m[start : look + 1])
        if total <= 1.5 * usual or sum(counts[start : look + 1]) < 2:
            continue
        rise = min(max(total / usual, 1.5), 3.0)
        best = max(
            best,
            total * math.log(rise)
            - (alpha + total) * math.log((alpha + rise * usual) / (alpha + usual)),
        )
    return best


def plain_scaled(y, e, fit):
    """Return scaled failures and expected failures of (T, N) lists, one by one."""
    phi, kappa = float(fit.dispersion), float(fit.look_shock)
    tau2 = float(fit.shock_variance)
    n_strata = len(y[0])
    scaled, expected = [], []
    for look in range(len(y)):
        all_y = sum(y[look])
        all_e = sum(e[look][s] * float(fit.level[s]) for s in range(n_strata))
        scaled.append([])
        expected.append([])
        for s in range(n_strata):
            precision = 1 / tau2 + (all_e - e[look][s] * float(fit.level[s])) / phi
            shock = (1 / tau2 + (all_y - y[look][s]) / phi) / precision
            usual = e[look][s] * shock
            spread = phi + usual / precision + kappa * usual
            scaled[look].append(y[look][s] / spread)
            expected[look].append(usual / spread)
    return scaled, expected
