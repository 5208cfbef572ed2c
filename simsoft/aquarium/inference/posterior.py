"""What measurements say about uncertain inputs: least squares with priors, Laplace approximation.

Inputs are standardised: z = 0 is the prior's centre and a prior standard deviation is 1, so the
prior adds z itself to the residuals. Data and predictions are logarithms.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy import optimize, stats

from simsoft.core.arrays import Array

Model = Callable[[Array], Array]

LEARNED, NARROWED = 0.5, 0.9  # posterior over prior standard deviation
TOGETHER = 0.8  # correlation from which two inputs are known only together
FAR = 2.0  # prior standard deviations
CONFLICT = 0.01  # probability of data so far from the prior's own prediction
CORRECTIONS, CLOSE = 3, 0.005  # of a fast model by the solver, and when that will do
DOUBTED, MOST_DOUBTED = 0.5, 0.15  # of the first gap, doubt left by the fast model's slopes
FARTHEST = 6.0  # prior standard deviations searched


@dataclass(frozen=True)
class Posterior:
    """Inputs after the data.

    Attributes
    ----------
    names : tuple of str
    mean : array (P,), in prior standard deviations from the prior's centre
    covariance : array (P, P)
    fitted : array (M,), predictions at the mean, logarithms
    jacobian : array (M, P), of the predictions there
    conflict : float, probability of data this far from what the prior predicts
    misfit : float, of data this far from the fitted model
    """

    names: tuple[str, ...]
    mean: Array
    covariance: Array
    fitted: Array
    jacobian: Array
    conflict: float
    misfit: float

    @property
    def spread(self) -> Array:
        """Posterior over prior standard deviation, array (P,)."""
        return np.asarray(np.sqrt(np.diag(self.covariance)))


def jacobian_of(model: Model, at: Array, step: float = 1e-3) -> Array:
    """Return the central-difference Jacobian (M, P) of a model."""
    rows = []
    for i in range(len(at)):
        shift = np.zeros_like(at)
        shift[i] = step
        rows.append((model(at + shift) - model(at - shift)) / (2.0 * step))
    return np.column_stack(rows)


def infer(names: Sequence[str], model: Model, data: Array, scatter: Array) -> Posterior:
    """Return the posterior of the inputs.

    Parameters
    ----------
    names : sequence of str, P of them
    model : function of z (P,) giving predictions (M,), logarithms
    data : array (M,), logarithms of the measured values
    scatter : array (M,), relative standard uncertainties, model error included

    Notes
    -----
    The mode by least squares, the covariance as the inverse of the Gauss-Newton Hessian there
    (Laplace). The prior conflict is the chi-squared tail of the data under the prior's own
    prediction linearised at its centre, as in Box 1980, J. R. Stat. Soc. A 143:383 (from memory).
    """
    count = len(names)

    def residual(z: Array) -> Array:
        return np.concatenate([(model(z) - data) / scatter, z])

    found = optimize.least_squares(
        residual, np.zeros(count), bounds=(-FARTHEST, FARTHEST), x_scale=1.0
    )
    mean = np.asarray(found.x, dtype=np.float64)
    slope = jacobian_of(model, mean)
    hessian = np.eye(count) + slope.T @ (slope / scatter[:, None] ** 2)
    fitted = model(mean)
    centre = jacobian_of(model, np.zeros(count))
    spread = centre @ centre.T + np.diag(scatter**2)
    away = data - model(np.zeros(count))
    distance = float(away @ np.linalg.solve(spread, away))
    return Posterior(
        names=tuple(names),
        mean=mean,
        covariance=np.asarray(np.linalg.inv(hessian), dtype=np.float64),
        fitted=fitted,
        jacobian=slope,
        conflict=float(stats.chi2.sf(distance, len(data))),
        misfit=float(stats.chi2.sf(float((((fitted - data) / scatter) ** 2).sum()), len(data))),
    )


def corrected_posterior(
    names: Sequence[str], model: Model, exact: Model, data: Array, scatter: Array
) -> tuple[Posterior, float]:
    """Return the posterior of a slow model by a fast one, and how far that is off at its mean.

    Parameters
    ----------
    names, data, scatter : see `infer`
    model : function of z (P,), the fast model (M,)
    exact : function of z (P,), the slow one (M,), NaN where it has no value

    Notes
    -----
    The fast model is shifted to agree with the slow one at the mean found, and the inference
    repeated, until they agree to half a per cent or three times. Its slopes stay: half of the
    first gap counts as scatter (a judgement; without it bands of 95 % held 86 to 95 %). Where the
    slow model has no value for one of the data at the mean found, it is infinitely far off: data
    that the slow model cannot have there are not fitted.
    """
    shift = np.zeros_like(data)
    found = infer(names, model, data, scatter)
    gap = exact(found.mean) - found.fitted
    left = np.minimum(MOST_DOUBTED, DOUBTED * np.abs(gap))
    scatter = np.hypot(scatter, np.where(np.isfinite(left), left, MOST_DOUBTED))
    for _ in range(CORRECTIONS):
        if not np.isfinite(gap).all() or float(np.abs(gap).max()) <= CLOSE:
            break
        shift = shift + gap
        found = infer(names, _shifted(model, shift), data, scatter)
        gap = exact(found.mean) - found.fitted
    return found, float(np.abs(gap).max()) if np.isfinite(gap).all() else math.inf


def _shifted(model: Model, shift: Array) -> Model:
    return lambda z: np.asarray(model(z) + shift)


def wider(posterior: Posterior, factor: float, *, past_prior: bool = False) -> Posterior:
    """Return a posterior with standard deviations larger by a factor.

    None goes past its prior's, unless ``past_prior`` says that data may have misled.
    """
    grown = np.minimum(factor, np.maximum(1.0, 1.0 / posterior.spread))
    if past_prior:
        grown = np.full(len(posterior.spread), factor)
    return replace(posterior, covariance=posterior.covariance * np.outer(grown, grown))


def identifiability(posterior: Posterior, words: dict[str, str]) -> list[str]:
    """Return in plain words what the data say about every input, and which only together."""
    lines = []
    for name, spread in zip(posterior.names, posterior.spread, strict=True):
        word = words.get(name, name)
        if spread < LEARNED:
            lines.append(f"{word}: learned, band at {100 * spread:.0f} % of the prior's")
        elif spread < NARROWED:
            lines.append(f"{word}: narrowed to {100 * spread:.0f} % of the prior's band")
        else:
            lines.append(f"{word}: these data say nothing; the prior stands")
    scale = np.outer(posterior.spread, posterior.spread)
    correlation = posterior.covariance / scale
    for i, first in enumerate(posterior.names):
        for j in range(i):
            if abs(correlation[i, j]) >= TOGETHER:
                second = posterior.names[j]
                lines.append(
                    f"{words.get(second, second)} and {words.get(first, first)}: only their "
                    f"combination is known (correlation {correlation[i, j]:+.2f})"
                )
    return lines


def disagreements(posterior: Posterior, words: dict[str, str]) -> list[str]:
    """Return in plain words where data and prior disagree, nothing where they do not."""
    lines = []
    if posterior.conflict < CONFLICT:
        lines.append(
            f"data and prior disagree: data this far from the prediction have probability "
            f"{posterior.conflict:.2g}; check durometer, thickness, speed and view first"
        )
    for name, z in zip(posterior.names, posterior.mean, strict=True):
        if abs(z) > FAR:
            lines.append(
                f"data and prior disagree on {words.get(name, name)}: moved by {z:+.1f} prior "
                "standard deviations"
            )
    if posterior.misfit < CONFLICT:
        lines.append(
            "no value of the inputs explains the data (probability "
            f"{posterior.misfit:.2g}): the model, or one of the measurements, is wrong"
        )
    return lines
