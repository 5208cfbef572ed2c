"""Newton's method for the rest shape of anything held, with a tangent that is kept while it serves.

It knows no body: what is held says what is out of balance and gives a factored tangent.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Generic, Protocol, TypeVar

import numpy as np
from scipy.linalg import LinAlgError
from scipy.linalg.lapack import dgetrf, dgetrs

from simsoft.core.arrays import Array
from simsoft.mechanics.rod import Stream

TOLERANCE = 1.0e-8  # largest correction [rad] or [-] of a converged shape
LARGEST_CORRECTION = 0.3  # [rad] of a hinge, or of a director, in one correction
SINGULAR = "the tangent stiffness is singular"

Shape = TypeVar("Shape", bound=Any)  # a dataclass with ``found``, ``message`` and ``aside``
Solve = Callable[[Array], Array]


class Held(Protocol[Shape]):
    """What is held at its clamp, as a long-held shape feels it.

    Attributes
    ----------
    size : array (m,) or float, what the unknowns' corrections are multiplied with to be angles
    """

    @property
    def size(self) -> Array | float:
        """Multiples of the unknowns."""

    def out_of_balance(self, stream: Stream, shape: Shape) -> Array:
        """Return the residual (m,) of a shape."""

    def factored(self, stream: Stream, shape: Shape) -> Solve:
        """Return the solution of the tangent about a shape, a function of the right side (m,)."""

    def moved(self, shape: Shape, change: Array) -> Shape:
        """Return a shape moved by a correction (m,) of its unknowns."""


@dataclass(frozen=True)
class Corrections:
    """How long a search goes on and when it takes a new tangent.

    Attributes
    ----------
    most : int, corrections
    slow : float, a step with an old tangent that shrinks the correction less asks for a new one
    large : float, a correction past it asks for one as well
    """

    most: int
    slow: float
    large: float = np.inf


class Factors:
    """A dense tangent (m, m), factored.

    LAPACK is called at once: SciPy's ``lu_solve`` takes longer to look at its arguments than to
    solve for a rod, and searches for rest shapes solve tens of thousands of times.

    Raises
    ------
    ValueError
        If the tangent is not finite.
    """

    def __init__(self, tangent: Array) -> None:
        if not np.isfinite(tangent).all():
            raise ValueError("the tangent is not finite")
        self.triangle, self.pivot, _ = dgetrf(tangent)

    def __call__(self, right: Array) -> Array:
        return np.asarray(dgetrs(self.triangle, self.pivot, right)[0])

    @property
    def positive(self) -> bool:
        """Whether the determinant is above zero."""
        swaps = int(np.count_nonzero(self.pivot != np.arange(len(self.pivot))))
        diagonal = np.diag(self.triangle)
        negative = int(np.count_nonzero(diagonal < 0.0))
        return bool(np.all(diagonal != 0.0)) and (swaps + negative) % 2 == 0


class Newton(Generic[Shape]):
    """Searches for one shape after the other, each with the tangent that served the last."""

    def __init__(self, rule: Corrections) -> None:
        self.rule = rule
        self.tangent: Solve | None = None

    def forget(self) -> None:
        """Drop the tangent."""
        self.tangent = None

    def solve(self, held: Held[Shape], stream: Stream, start: Shape) -> Shape:
        """Return the rest shape in a stream sought from a near one; not ``found`` it is that."""
        rule, shape = self.rule, start
        size_of, previous, fresh = held.size, np.inf, False
        reason = f"no equilibrium after {rule.most} corrections"
        for _ in range(rule.most):
            if self.tangent is None:
                try:
                    self.tangent = held.factored(stream, shape)
                except (LinAlgError, RuntimeError, ValueError):
                    return replace(start, found=False, message=SINGULAR)
                fresh = True
            change = -self.tangent(held.out_of_balance(stream, shape))
            size = float(np.abs(change * size_of).max())
            if not np.isfinite(size):
                reason = "the correction is not finite"
                break
            if size > rule.slow * previous and size > TOLERANCE and not fresh:
                self.tangent, previous = None, np.inf
                continue
            shape = held.moved(shape, change * min(1.0, LARGEST_CORRECTION / max(size, 1e-300)))
            if size < TOLERANCE:
                return replace(shape, found=True, message="")
            if size > rule.slow * previous or size > rule.large:
                self.tangent = None
            previous, fresh = size, False
        self.tangent = None
        return replace(start, found=False, message=reason)
