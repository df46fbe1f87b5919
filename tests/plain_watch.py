"""The watch written plainly, look by look and stratum by stratum, from its definition.

Slow and without any of the shortcuts of `analytics.statistics.watch_evidence`: what the
fast version must agree with.
"""

import math


def plain_watch(scaled, expected, counts, variance, threshold, known=(), drift=0.0):
    """Return evidence (T x N, None without a failure) and alarms [(look, stratum)].

    scaled, expected: scaled failures and expected failures, lists of looks; counts: the
    failures themselves; variance: of the levels; threshold: by look, None for none;
    drift: variance of a step of the log level from look to look.
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
                    (variance, drift),
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


def _evidence(y, m, counts, spread, look, restart):
    variance, drift = spread
    before = max(look + 1 - 12, restart)
    alpha = beta = 1 / variance
    for past in range(max(before, 0)):
        kept = 1 / (1 + alpha * drift)
        alpha, beta = alpha * kept + y[past], beta * kept + m[past]
    level = alpha / beta
    alpha /= 1 + alpha * drift * (look + 1 - max(before, 0)) / 2
    best = 0.0
    for window in (3, 6, 12):
        start = max(look + 1 - window, restart, 0)
        total = sum(y[start : look + 1])
        usual = level * sum(m[start : look + 1])
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


def plain_fit(y, e):
    """Return (v, phi, kappa, tau2, levels, shocks) of (T, N) lists, step by step."""
    looks, strata = range(len(y)), range(len(y[0]))
    v, phi, tau2, shock = 0.09, 1.1, 0.01, [1.0 for _ in looks]
    for _ in range(4):
        pairs = _pairs(y, e, shock)
        weights = [g / (1 + 2 * g) for _, g, _, _ in pairs]
        q_sum = sum(w * q for w, (q, _, _, _) in zip(weights, pairs, strict=True))
        r_sum = sum(w * r for w, (_, _, r, _) in zip(weights, pairs, strict=True))
        phi = max(1.0, (q_sum + 10 * 1.1) / (r_sum + 10))
        total = [sum(y[t][s] for t in looks) for s in strata]
        usual = [sum(e[t][s] * shock[t] for t in looks) for s in strata]
        prior = 5 / 0.09**2
        for _ in range(2):
            above, below = prior * 0.09, prior
            for n, m in zip(total, usual, strict=True):
                w = 1 / (phi + v * m) ** 2
                above += w * ((n - m) ** 2 - phi * m)
                below += w * m**2
            v = min(max(above / below, 0.001), 0.5)
        level = [
            (1 / v + n / phi) / (1 / v + m / phi)
            for n, m in zip(total, usual, strict=True)
        ]
        by_look = [sum(e[t][s] * level[s] for s in strata) for t in looks]
        for _ in range(2):
            above, below = 0.0, 2 / max(tau2, 0.0025) ** 2
            for t in looks:
                w = 1 / (phi + tau2 * by_look[t]) ** 2
                above += w * ((sum(y[t]) - by_look[t]) ** 2 - phi * by_look[t])
                below += w * by_look[t] ** 2
            tau2 = min(max(above / below, 0.0004), 0.25)
        shock = [
            (1 / tau2 + sum(y[t]) / phi) / (1 / tau2 + by_look[t] / phi) for t in looks
        ]
    s11, s12, s22, q1, q2 = 10.0, 0.0, 1.0, 11.0, 0.0
    for q, g, _, s in _pairs(y, e, shock):
        w = g / (1 + 2 * g) / (1 + 0.3 * g) ** 2
        x1, x2 = level[s], 2 * g * level[s] ** 2
        s11, s12, s22 = s11 + w * x1 * x1, s12 + w * x1 * x2, s22 + w * x2 * x2
        q1, q2 = q1 + w * q * x1, q2 + w * q * x2
    kappa = min(max((q2 * s11 - q1 * s12) / (s11 * s22 - s12**2), 0.0), 1.0)
    return v, max(1.0, (q1 - s12 * kappa) / s11), kappa, tau2, level, shock


def _pairs(y, e, shock):
    """Return (q, g, r, stratum) of neighbouring looks in which some is expected."""
    found = []
    for t in range(1, len(y)):
        for s in range(len(y[0])):
            one, two = e[t][s] * shock[t], e[t - 1][s] * shock[t - 1]
            if one > 0 and two > 0:
                g = one * two / (one + two)
                q = (y[t][s] / one - y[t - 1][s] / two) ** 2 * g
                found.append((q, g, (y[t][s] + y[t - 1][s]) / (one + two), s))
    return found
