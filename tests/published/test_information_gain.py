"""Expected information against two published worked examples.

Data    play tennis, 14 days (Quinlan 1986); oil wildcatter, three states and a seismic
    sounding (Raiffa 1968).
Values    entropy .940, gains .246 .029 .151 .048 (Quinlan 1986, Induction of Decision
    Trees, section 4); states .5 .3 .2 and the table of the sounding (Raiffa 1968).
Read    2026-11-25, in a collection of reference cases that gives the printed figures
    from memory; the gains are reproduced here from the 14 rows, the bits of the
    sounding by hand from its table.
Digits    three printed; .246 and .151 are cut there, not rounded (.2467, .1518).
"""

import math

import pytest

from analytics.advice.first_check import expected_information

PLAY = tuple("yes" if sign == "y" else "no" for sign in "nnyyynynyyyyyn")
DAYS = {
    "outlook": (
        "sunny sunny overcast rain rain rain overcast sunny sunny rain sunny overcast"
        " overcast rain"
    ),
    "temperature": (
        "hot hot hot mild cool cool cool mild cool mild mild mild hot mild"
    ),
    "humidity": (
        "high high high high normal normal normal high normal normal normal high"
        " normal high"
    ),
    "wind": (
        "weak strong weak weak weak strong strong weak weak weak strong strong weak"
        " strong"
    ),
}


def gain(feature):
    days = list(zip(DAYS[feature].split(), PLAY, strict=True))
    causes = sorted(set(PLAY))
    prior = [PLAY.count(cause) / len(PLAY) for cause in causes]
    likelihood = [
        [days.count((value, cause)) / PLAY.count(cause) for cause in causes]
        for value in sorted({value for value, _ in days})
    ]
    return expected_information(prior, likelihood)


@pytest.mark.parametrize(
    ("feature", "printed", "tolerance", "exact"),
    [
        ("outlook", 0.246, 0.001, 0.246749819774),
        ("temperature", 0.029, 0.0005, 0.029222565659),
        ("humidity", 0.151, 0.001, 0.151835501362),
        ("wind", 0.048, 0.0005, 0.0481270304083),
    ],
)
def test_gains_of_the_tennis_days_are_those_of_quinlan(
    feature, printed, tolerance, exact
):
    assert gain(feature) == pytest.approx(printed, abs=tolerance)
    assert gain(feature) == pytest.approx(exact, rel=1e-9)


def test_an_observation_that_settles_the_cause_is_worth_the_whole_entropy():
    # Entropy of 9 yes and 5 no: .940 bits.
    bits = expected_information([9 / 14, 5 / 14], [[1, 0], [0, 1]])
    assert bits == pytest.approx(0.940, abs=0.0005)


def test_the_seismic_sounding_of_the_wildcatter_is_worth_0_160_bits():
    prior = [0.5, 0.3, 0.2]
    likelihood = [[0.6, 0.3, 0.1], [0.3, 0.4, 0.4], [0.1, 0.3, 0.5]]
    assert expected_information(prior, likelihood) == pytest.approx(
        0.160410901833, rel=1e-9
    )


def test_a_coin_that_knows_nothing_is_worth_nothing():
    assert expected_information([0.2, 0.8], [[0.5, 0.5], [0.5, 0.5]]) == 0.0


def test_a_fair_coin_settled_is_worth_one_bit():
    # Shannon 1948: the entropy of two equal chances is one bit.
    assert math.isclose(expected_information([0.5, 0.5], [[1, 0], [0, 1]]), 1.0)
