"""Steps of a march with plates in it, whose kept inverses are renewed when they are asked for."""

from __future__ import annotations

from collections.abc import Callable

from simsoft.bodies.plate.stepper import LOST, RENEW


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
