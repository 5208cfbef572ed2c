"""Prediction against measurement: normalised error, verdict, agreement of many designs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

from simsoft.core.quantities import QUANTITIES

NORMAL = 1.96  # standard deviations that hold 95 % of a normal distribution
COVERAGE = 2.0  # k of the expanded uncertainties in the normalised error
OTHER_LIMITS = (0.15, 0.30)  # close and usable where the table of quantities says nothing
ANGLES = (5.0, 10.0)  # [deg], of quantities in degrees, which are compared by difference
JUDGEMENTS = ("agrees", "says little", "disagrees", "not judged")
FEWEST_DESIGNS = 10  # below it limits of agreement are a sketch


def normalised_error(predicted: float, measured: float, u_p: float, u_m: float) -> float:
    """Return E_n = |p - m|/sqrt(U_p^2 + U_m^2), U = 2 u; at most 1 agrees.

    Parameters
    ----------
    predicted, measured : float, same unit
    u_p, u_m : float, standard uncertainties

    Notes
    -----
    ISO 13528:2022 and ISO/IEC 17043 (from memory).
    """
    expanded = COVERAGE * math.hypot(u_p, u_m)
    difference = abs(predicted - measured)
    if expanded == 0.0:
        return 0.0 if difference == 0.0 else math.inf
    return difference / expanded


def side_uncertainty(
    value: float, low: float | None, high: float | None, measured: float
) -> float | None:
    """Return the standard uncertainty of a prediction on the side the measurement lies on.

    An open end counts as wide as what is needed to reach the measurement; None where there is
    no band at all.
    """
    if low is None and high is None:
        return None
    if measured >= value:
        return (high - value) if high is not None else max(measured - value, value - (low or 0.0))
    return (value - low) if low is not None else max(value - measured, (high or value) - value)


def verdict(
    quantity: str, unit: str, predicted: float, measured: float, error_n: float | None, u: float
) -> str:
    """Return the verdict on one comparison.

    Parameters
    ----------
    quantity, unit : str
    predicted, measured : float
    error_n : float or None, normalised error; None where the prediction has no band
    u : float, combined standard uncertainty

    Returns
    -------
    str : begins with one of JUDGEMENTS, then how far off it is and what the bands make of it
    """
    known = QUANTITIES.get(quantity)
    limits = (known.close if known else None) or OTHER_LIMITS
    close, usable = ANGLES if unit == "deg" else limits
    scale = 1.0 if unit == "deg" else abs(measured)
    error = abs(predicted - measured) / scale if scale > 0.0 else math.inf
    ends = [f"{x:g} deg" if unit == "deg" else f"{100 * x:.0f} %" for x in (close, usable)]
    size = f"within {ends[error > close]}" if error <= usable else f"more than {ends[1]} off"
    if error_n is None:
        return f"not judged: {size}, but the prediction has no band"
    wide = scale == 0.0 or COVERAGE * u / scale > usable
    if error_n > 1.0:
        narrow = "" if error > usable else ", which are narrow"
        return f"disagrees: {size} and outside the stated bands{narrow}"
    if wide:
        return f"says little: {size}, but the stated bands are so wide that far more would fit too"
    return f"agrees: {size} and inside the stated bands"


@dataclass(frozen=True)
class AgreementLimits:
    """Bland-Altman limits of agreement, on differences or, as factors, on ratios.

    Attributes
    ----------
    n : int
    bias : float, mean difference, or geometric mean of predicted over measured
    low, high : float, differences or ratios that hold 95 % of designs
    bias_ci, low_ci, high_ci : tuple of float, 95 % confidence intervals of the three
    """

    n: int
    bias: float
    low: float
    high: float
    bias_ci: tuple[float, float]
    low_ci: tuple[float, float]
    high_ci: tuple[float, float]


def limits(differences: Sequence[float], coverage: float = NORMAL) -> AgreementLimits:
    """Return the limits of agreement of differences.

    Parameters
    ----------
    differences : sequence of float, two or more
    coverage : float, standard deviations from the bias to a limit

    Notes
    -----
    Bland & Altman 1986, Lancet 327:307: mean difference +- 1.96 s (2 s in their example); the
    standard error of the mean is s/sqrt(n), that of a limit about sqrt(3/n) s, both with
    Student's t for the interval.

    Raises
    ------
    ValueError
        Fewer than two differences.
    """
    values = np.asarray(differences, dtype=float)
    n = len(values)
    if n < 2:
        raise ValueError("two or more differences are needed")
    mean, s = float(values.mean()), float(np.std(values, ddof=1))
    error = float(stats.t.ppf(0.975, n - 1)) * s / math.sqrt(n)
    half = math.sqrt(3.0) * error
    low, high = mean - coverage * s, mean + coverage * s
    return AgreementLimits(
        n,
        mean,
        low,
        high,
        (mean - error, mean + error),
        (low - half, low + half),
        (high - half, high + half),
    )


def limits_of_agreement(predicted: Sequence[float], measured: Sequence[float]) -> AgreementLimits:
    """Return the limits of agreement of ln(predicted/measured), as factors.

    Raises
    ------
    ValueError
        Fewer than two pairs, or a number that is not positive.
    """
    p, m = np.asarray(predicted, dtype=float), np.asarray(measured, dtype=float)
    if len(p) < 2 or len(p) != len(m) or (p <= 0.0).any() or (m <= 0.0).any():
        raise ValueError("two or more pairs of positive numbers are needed")
    found = limits(np.log(p / m).tolist())

    def factors(ends: tuple[float, float]) -> tuple[float, float]:
        return math.exp(ends[0]), math.exp(ends[1])

    return AgreementLimits(
        found.n,
        math.exp(found.bias),
        math.exp(found.low),
        math.exp(found.high),
        factors(found.bias_ci),
        factors(found.low_ci),
        factors(found.high_ci),
    )


def rank_correlation(
    predicted: Sequence[float], measured: Sequence[float]
) -> tuple[float, float] | None:
    """Return Spearman's rank correlation and its p-value, None where ranks say nothing."""
    if len(predicted) < 3 or len(set(predicted)) < 2 or len(set(measured)) < 2:
        return None
    found = stats.spearmanr(predicted, measured)
    return float(found.statistic), float(found.pvalue)


@dataclass(frozen=True)
class Decisions:
    """Counts of go and no-go, predicted against measured."""

    go: int
    no_go: int
    false_go: int
    false_no_go: int

    @property
    def false_go_share(self) -> tuple[float, float, float] | None:
        """Share of predicted 'go' that did not go, with its 95 % limits (Clopper-Pearson)."""
        total = self.go + self.false_go
        if total == 0:
            return None
        k = self.false_go
        low = 0.0 if k == 0 else float(stats.beta.ppf(0.025, k, total - k + 1))
        high = 1.0 if k == total else float(stats.beta.ppf(0.975, k + 1, total - k))
        return k / total, low, high


def decisions(pairs: Sequence[tuple[bool, bool]]) -> Decisions:
    """Return the go/no-go table of pairs (predicted go, measured go)."""
    return Decisions(
        go=sum(p and m for p, m in pairs),
        no_go=sum(not p and not m for p, m in pairs),
        false_go=sum(p and not m for p, m in pairs),
        false_no_go=sum(m and not p for p, m in pairs),
    )
