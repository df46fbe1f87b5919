"""Laws on life data listed in a public repository.

Data    usnistgov/dataplot, lib/data: TOB99, TOB128, TOB159 and TOB171 (P. A. Tobias and
        D. C. Trindade, Applied Reliability, 2nd edition, pp. 99, 128, 159, 171),
        WEICEN, EXPCEN and EXPCEN2 (K. V. Bury, Statistical Distributions in
        Engineering, 1999, examples 17.3, 12.1, 12.4), NELS144 (W. Nelson 1982, p. 144).
Values  No printed figure: cross-checked between R 4.2.2 (survreg), SciPy and
        lifelines; the exponential means are closed forms.
Read    2026-11-25.
Digits  1e-6 relative, the agreement of the libraries; log-likelihood 1e-6.
"""

import numpy as np
import pytest

from analytics.statistics.distributions import fit_life

# age, failed, still working
LISTINGS = {
    "TOB99": [
        (0.7, 1, 0), (52.7, 1, 0), (129.4, 1, 0), (187.8, 1, 0), (264.4, 1, 0),
        (272.8, 1, 0), (304.2, 1, 0), (305.1, 1, 0), (309.8, 1, 0), (310.5, 1, 0),
        (404.8, 1, 0), (434.6, 1, 0), (434.9, 1, 0), (479.2, 1, 0), (525.3, 1, 0),
        (620.3, 1, 0), (782.8, 1, 0), (1122, 1, 0), (1200.8, 1, 0), (1224.1, 1, 0),
        (1322.7, 1, 0), (1945, 1, 0), (2419.5, 1, 0), (2894.5, 1, 0), (2920.1, 1, 0),
        (3000, 0, 25),
    ],
    "TOB128": [
        (1317, 1, 0), (2243, 1, 0), (2248, 1, 0), (2282, 1, 0), (2362, 1, 0), (2773,
        1, 0), (2797, 1, 0), (3104, 1, 0), (3600, 1, 0), (4000, 0, 11),
    ],
    "TOB159": [
        (3.7, 1, 0), (25.9, 1, 0), (58.6, 1, 0), (78.4, 1, 0), (146.7, 1, 0), (162.3,
        1, 0), (224.1, 1, 0), (228.6, 1, 0), (275.9, 1, 0), (282.9, 1, 0), (481.4, 1,
        0), (689.5, 1, 0), (720, 1, 0), (770, 1, 0), (851.2, 1, 0), (871.7, 1, 0),
        (999.3, 1, 0), (1000, 0, 583),
    ],
    "WEICEN": [
        (211, 1, 0), (397, 1, 0), (461, 1, 0), (500, 0, 1), (576, 1, 0), (640, 0, 1),
        (812, 1, 0), (854, 1, 0), (943, 1, 0), (1000, 0, 2), (1211, 1, 0), (1482, 1,
        0), (1487, 1, 0), (1500, 0, 1), (1822, 1, 0), (2103, 1, 0), (2585, 1, 0),
    ],
    "NELS144": [
        (31.7, 1, 0), (39.2, 1, 0), (57.5, 1, 0), (65, 0, 1), (65.8, 1, 0), (70, 1,
        0), (75, 0, 2), (87.5, 0, 1), (88.3, 0, 1), (94.2, 0, 1), (101.7, 0, 1),
        (105.8, 1, 0), (109.2, 0, 1), (110, 1, 0), (130, 0, 1),
    ],
    "EXPCEN": [
        (16, 1, 0), (27, 0, 1), (35, 0, 1), (36, 1, 0), (41, 1, 0), (51, 1, 0), (76,
        0, 1), (79, 1, 0), (84, 1, 0), (121, 1, 0), (125, 1, 0), (166, 1, 0), (179, 1,
        0), (212, 0, 1), (264, 1, 0), (378, 0, 1),
    ],
    "EXPCEN2": [
        (2, 1, 0), (10, 1, 0), (11, 1, 0), (29, 1, 0), (43, 1, 0), (68, 1, 0), (81, 1,
        0), (82, 1, 0), (99, 1, 0), (122, 1, 0), (141, 1, 0), (169, 1, 6),
    ],
}  # fmt: skip
# listing, law, parameters, log-likelihood, likelihood-ratio limits of the 10 % age
FITS = [
    (
        "TOB99",
        "weibull",
        {"shape": 0.613309606387, "scale": 5230.96753084},
        -226.978768797,
        (29.536705335, 355.655548474),
    ),
    (
        "TOB128",
        "lognormal",
        {"mu": 8.33412194308, "sigma": 0.578196334876},
        -85.3700914258,
        (1162.91356636, 2666.35199207),
    ),
    (
        "TOB159",
        "lognormal",
        {"mu": 14.538499648, "sigma": 4.00236882589},
        -193.036836984,
        (4083.22069606, 90944.2917585),
    ),
    (
        "WEICEN",
        "weibull",
        {"shape": 1.89833107938, "scale": 1467.76089927},
        -104.796828598,
        (202.425628027, 727.266518693),
    ),
    (
        "NELS144",
        "weibull",
        {"shape": 2.37644597128, "scale": 123.164285245},
        -41.1331927788,
        (20.1476679345, 71.9681505168),
    ),
    (
        "EXPCEN",
        "exponential",
        {"scale": 171.818181818},
        -67.6108051878,
        (10.5700287233, 34.8628773176),
    ),
    (
        "EXPCEN2",
        "exponential",
        {"scale": 155.916666667},
        -72.5918601178,
        (9.79476949397, 30.677285841),
    ),
]


@pytest.mark.parametrize(
    ("listing", "distribution", "parameters", "log_likelihood", "b10_limits"),
    FITS,
    ids=[fit[0] for fit in FITS],
)
def test_fit_matches_the_libraries(
    listing, distribution, parameters, log_likelihood, b10_limits
):
    fit = fit_life(*np.array(LISTINGS[listing]).T, distribution=distribution)

    assert fit.parameters == pytest.approx(parameters, rel=1e-6)
    assert fit.log_likelihood == pytest.approx(log_likelihood, abs=1e-6)
    assert fit.quantile_interval(0.1, method="likelihood") == pytest.approx(
        b10_limits, rel=1e-6
    )


def test_readouts_of_capacitors_match_the_libraries():
    readouts = [24, 72, 168, 300, 500, 750, 1000, 1250, 1500]

    fit = fit_life(
        [1500], [0], [16], distribution="weibull",
        lower=[0, *readouts[:-1]], upper=readouts,
        n_interval=[2, 1, 3, 2, 2, 4, 5, 1, 4],
    )  # fmt: skip

    assert fit.parameters == pytest.approx(
        {"shape": 0.822277164298, "scale": 1746.06657157}, rel=1e-6
    )
    assert fit.log_likelihood == pytest.approx(-79.4288895805, abs=1e-6)
