"""Normalised error, limits of agreement, ranks and decisions against worked examples."""

import math

import numpy as np
import pytest
from scipy import stats

from simsoft.aquarium.agreement import (
    JUDGEMENTS,
    decisions,
    limits,
    limits_of_agreement,
    normalised_error,
    rank_correlation,
    side_uncertainty,
    verdict,
)


def test_normalised_error_is_the_definition():
    """E_n = |x_lab - x_ref|/sqrt(U_lab^2 + U_ref^2), U = 2 u (ISO 13528, from memory)."""
    assert normalised_error(5.5, 5.0, 0.2, 0.15) == pytest.approx(0.5 / math.hypot(0.4, 0.3))
    assert normalised_error(5.0, 5.0, 0.0, 0.0) == 0.0
    assert normalised_error(5.1, 5.0, 0.0, 0.0) == math.inf


@pytest.mark.parametrize(("p", "m", "u_p", "u_m"), [(5.5, 5.0, 0.2, 0.15), (4.1, 5.0, 0.3, 0.9)])
def test_normalised_error_against_the_library(p, m, u_p, u_m):
    """2 E_n is the statistic of Welch's test of two means with these standard errors (scipy)."""
    rows = 1_000_000
    root = math.sqrt(rows)
    welch = stats.ttest_ind_from_stats(p, u_p * root, rows, m, u_m * root, rows, equal_var=False)
    assert 2.0 * normalised_error(p, m, u_p, u_m) == pytest.approx(abs(welch.statistic), rel=1e-12)
    normal = 2.0 * stats.norm.sf(2.0 * normalised_error(p, m, u_p, u_m))
    assert normal == pytest.approx(welch.pvalue, rel=1e-4)


# Bland & Altman 1986, Lancet 327:307, table 1: peak expiratory flow [l/min], first measurement
# with each of two meters on 17 subjects; public transcriptions of the table agree with each other.
LARGE = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
MINI = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]


def test_limits_against_the_published_worked_example():
    """What the paper gives for its table: -2.1, limits of 2 s at -79.7 and 75.5, and intervals.

    The paper rounds s to 38.8 and Student's t to 2.12 on its way: 0.2 l/min.
    """
    found = limits(np.subtract(LARGE, MINI).tolist(), coverage=2.0)
    assert found.n == 17
    assert found.bias == pytest.approx(-2.1, abs=0.05)
    assert (found.low, found.high) == pytest.approx((-79.7, 75.5), abs=0.1)
    assert found.bias_ci == pytest.approx((-22.0, 17.8), abs=0.2)
    assert found.low_ci == pytest.approx((-114.3, -45.1), abs=0.2)
    assert found.high_ci == pytest.approx((40.9, 110.1), abs=0.2)


def test_the_bias_and_its_interval_against_the_library():
    differences = np.subtract(LARGE, MINI)
    known = stats.ttest_1samp(differences, 0.0).confidence_interval(0.95)
    assert limits(differences.tolist()).bias_ci == pytest.approx((known.low, known.high), rel=1e-12)


def test_agreement_is_the_same_on_logarithms():
    found, logs = limits_of_agreement(LARGE, MINI), limits(np.log(np.divide(LARGE, MINI)).tolist())
    for name in ("bias", "low", "high", "bias_ci", "low_ci", "high_ci"):
        assert np.log(getattr(found, name)) == pytest.approx(getattr(logs, name))


def test_limits_of_agreement_hold_95_percent():
    rng = np.random.default_rng(3)
    ratios = np.exp(0.05 + 0.1 * rng.normal(size=4000))
    found = limits_of_agreement(ratios, np.ones(4000))
    assert np.mean((ratios > found.low) & (ratios < found.high)) == pytest.approx(0.95, abs=0.01)
    with pytest.raises(ValueError, match="pairs"):
        limits_of_agreement([1.0], [2.0])


def test_ranks():
    assert rank_correlation([1, 2, 3, 4], [10, 20, 30, 40])[0] == pytest.approx(1.0)
    assert rank_correlation([1, 2, 3], [1, 1, 1]) is None
    # d = (0, 1, 1, 0, 0): rho = 1 - 6 x 2/(5 x 24)
    assert rank_correlation([1, 2, 3, 4, 5], [1, 3, 2, 4, 5])[0] == pytest.approx(0.9)


def test_false_go_is_counted_apart():
    found = decisions([(True, True), (True, False), (False, True), (False, False), (True, True)])
    assert (found.go, found.false_go, found.false_no_go, found.no_go) == (2, 1, 1, 1)
    share, low, high = found.false_go_share
    assert share == pytest.approx(1 / 3)
    # Clopper-Pearson against the general library
    exact = stats.binomtest(1, 3).proportion_ci(0.95, "exact")
    assert (low, high) == (pytest.approx(exact.low), pytest.approx(exact.high))


def test_the_side_of_a_band_that_counts_is_the_one_of_the_measurement():
    assert side_uncertainty(5.0, 4.0, 8.0, 6.0) == 3.0
    assert side_uncertainty(5.0, 4.0, 8.0, 4.5) == 1.0
    assert side_uncertainty(5.0, None, None, 4.5) is None
    assert side_uncertainty(5.0, 4.0, None, 9.0) == 4.0


def test_a_wide_band_agrees_but_says_little():
    beat = ("flap_frequency", "Hz")
    assert verdict(*beat, 5.2, 5.0, 0.5, 0.2) == "agrees: within 10 % and inside the stated bands"
    wide = verdict(*beat, 5.2, 5.0, 0.2, 1.5)
    assert wide.startswith("says little: within 10 %, but the stated bands are so wide")
    far = verdict(*beat, 8.0, 5.0, 3.0, 0.3)
    assert far == "disagrees: more than 20 % off and outside the stated bands"
    near = verdict(*beat, 5.2, 5.0, 3.0, 0.03)
    assert near.startswith("disagrees: within 10 % and outside the stated bands, which are narrow")
    assert verdict("attitude", "deg", 8.0, 1.0, 0.9, 3.0).startswith("agrees: within 10 deg")
    assert verdict(*beat, 5.2, 5.0, None, 0.1).startswith("not judged: within 10 %")


@pytest.mark.parametrize("predicted", [0.1, 1.0, 4.9, 5.4, 5.9, 50.0])
@pytest.mark.parametrize("u", [0.01, 0.3, 4.0])
def test_every_verdict_begins_with_one_of_four_judgements(predicted, u):
    error_n = normalised_error(predicted, 5.0, u, 0.1)
    said = verdict("stroke", "m", predicted, 5.0, error_n, math.hypot(u, 0.1))
    assert said.partition(":")[0] in JUDGEMENTS
    assert said.startswith("disagrees") == (error_n > 1.0)
