"""Steps of a march with plates in it, whose kept inverses are renewed when they are asked for."""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

import numpy as np

from simsoft.bodies.plate.stepper import LOST, RENEW
from simsoft.core.arrays import Array
from simsoft.solvers.time_march import StepFailedError

Taken = TypeVar("Taken")


class Renewed(Generic[Taken]):
    """What a march keeps from step to step as long as it serves, such as an inverse.

    Parameters
    ----------
    take : function that takes it in the present shape; raises StepFailedError where it cannot
    """

    def __init__(self, take: Callable[[], Taken]) -> None:
        self.take = take
        self.now = take()

    def renew(self) -> bool:
        """Take it anew; return whether it could be taken."""
        self.now = self.take()
        return True


def with_renewals(
    steps: int,
    make: Callable[[int], tuple[int, int]],
    renew: Callable[[], bool],
    divide: Callable[[int], None] | None = None,
) -> int:
    """Return how many of a number of steps could be made.

    Parameters
    ----------
    steps : int
    make : function of the steps done that makes more; returns how many and why it ended
    renew : function that renews the inverses; returns whether it could
    divide : function of the steps done that makes one in parts, where fresh inverses do not help;
        None where nothing else is tried
    """
    done, renewed = 0, False
    while done < steps:
        made, end = make(done)
        done += made
        stuck = end == RENEW and renewed and made == 0
        if end == LOST or (stuck and divide is None):
            return done
        if stuck and divide is not None:
            divide(done)
            done += 1
        renewed = end == RENEW
        if renewed and not renew():
            return done
    return done


def check_chunk(done: int, steps: int, before: int, step: float, table: Array) -> None:
    """Raise StepFailedError where not all steps of a chunk were made, or to no finite end.

    Parameters
    ----------
    done, steps, before : int, steps made, to be made and made before the chunk
    step : float [s]
    table : array, the histories that were kept
    """
    if done < steps or not np.all(np.isfinite(table)):
        raise StepFailedError((before + done) * step, step)
