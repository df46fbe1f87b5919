"""Frequencies in words: ratios without an upper limit, and how much failures vary."""

import math

import pytest

from dashboard.filters import Filters
from dashboard.queries.frequencies_words import (
    dispersion_sentences,
    limits_words,
    ratio_words,
)
from dashboard.queries.modes import modes


@pytest.mark.parametrize(
    ("ratio", "low", "high", "words"),
    [
        (1.8, 1.2, 2.7, "1.80, 95 % interval 1.20 to 2.70"),
        (math.inf, 1.2, math.inf, "beyond any number, 95 % interval 1.20 or more"),
        (math.nan, 0.0, math.inf, "not known"),
    ],
)
def test_a_ratio_reads_with_its_limits(ratio, low, high, words):
    assert ratio_words({"ratio": ratio, "low": low, "high": high}) == words


def test_limits_without_an_upper_one_say_so():
    assert limits_words(0.5, math.inf) == "0.500 or more"


def test_how_much_failures_vary_beyond_chance_is_what_the_watch_measured(snapshot):
    measured = snapshot.ask("watch_families")["dispersion"].max()
    basis = modes(snapshot, Filters()).more["rate_basis"]

    assert basis["dispersion"] == pytest.approx(measured)


def test_what_hardly_widens_an_interval_is_not_said():
    assert dispersion_sentences(1.05) == dispersion_sentences(None) == []
    (said,) = dispersion_sentences(1.96)
    assert "vary 1.96 times as much" in said
    assert "read it 1.40 times as wide" in said
