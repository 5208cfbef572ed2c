"""Rest shapes followed step by step: dead loads let on, and a branch through rising speeds.

The same for every body; how one shape is found from a near one is the caller's.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Generic

from simsoft.solvers.newton import Shape

JUMP = "the shape jumps to another equilibrium"
EXCHANGE = "a stable rest shape is gone over to that was not found at the speeds below"
STRAY_TURN = 1.0e-3  # [rad] farther from both neighbours than they from each other: a stray

Turn = Callable[[Shape, Shape], float]  # largest turning [rad] between two shapes


@dataclass(frozen=True)
class Steps:
    """How a branch is followed.

    Attributes
    ----------
    largest : float [rad], of any node or director in one step: a larger one may be another branch
    smallest_load : float, share of the dead loads that a step lets on at least
    smallest : float, share of the way from one speed to the next that a step goes at least
    squared : bool, steps are shares of the speed squared, as the loads are
    """

    largest: float
    smallest_load: float
    smallest: float
    squared: bool = False

    def place(self, speed: float) -> float:
        """Return what grows in equal steps, of a speed [m/s]."""
        return speed**2 if self.squared else speed

    def speed(self, place: float) -> float:
        """Return the speed [m/s] of a place."""
        return math.sqrt(place) if self.squared else place


def let_on(solve: Callable[[float, Shape], Shape], turn: Turn, start: Shape, steps: Steps) -> Shape:
    """Return the rest shape in still water: the dead loads let on in smaller and smaller parts.

    Parameters
    ----------
    solve : function of the share of the loads (0..1) and a near shape
    turn : largest turning [rad] between two shapes
    start : the moulded shape
    steps : Steps
    """
    found = start
    done, part = 0.0, 1.0
    while done < 1.0:
        share = min(1.0, done + part)
        trial = solve(share, found)
        if trial.found and turn(trial, found) <= steps.largest:
            found, done = trial, share
            part = min(2.0 * part, 1.0)
            continue
        part *= 0.5
        if part < steps.smallest_load:
            message = f"no rest shape in still water: {trial.message or JUMP}"
            return replace(found, found=False, message=message)
    return found


class Branch(Generic[Shape]):
    """A rest shape on its way from speed to speed.

    Parameters
    ----------
    solve : function of a speed [m/s] and a near shape
    turn : largest turning [rad] between two shapes
    steps : Steps
    shape : at ``speed`` [m/s]
    ahead : function of the last shape but one, the last, the way between them and the way to go,
        returning the shape expected there; None where the last one has to do
    forget : drops the tangent that ``solve`` keeps, after a step that failed
    """

    def __init__(
        self,
        solve: Callable[[float, Shape], Shape],
        turn: Turn,
        steps: Steps,
        shape: Shape,
        speed: float,
        *,
        ahead: Callable[[Shape, Shape, float, float], Shape] | None = None,
        forget: Callable[[], None] | None = None,
    ) -> None:
        self.solve, self.turn, self.steps = solve, turn, steps
        self.ahead, self.forget = ahead, forget
        self.go_over(speed, shape)

    def go_over(self, speed: float, shape: Shape) -> None:
        """Go on from another shape at a speed [m/s]."""
        self.shape, self.at = shape, self.steps.place(speed)
        self.before: tuple[Shape, float] | None = None

    def reach(self, speed: float) -> str:
        """Follow to a speed [m/s], in halved steps where need be; return why it ended."""
        target = self.steps.place(speed)
        whole, part = target - self.at, 1.0
        while True:
            left = target - self.at
            step = left if abs(part * whole) >= abs(left) else part * whole
            trial = speed if step == left else self.steps.speed(self.at + step)
            found = self._tried(trial, step)
            if found.found and self.turn(found, self.shape) <= self.steps.largest:
                if step != 0.0:
                    self.before = (self.shape, step)
                self.shape, self.at = found, self.at + step
                part = min(1.0, 2.0 * part)
                if step == left:
                    self.at = target
                    return ""
                continue
            part *= 0.5
            self.before = None
            if self.forget is not None:
                self.forget()
            if part < self.steps.smallest:
                return f"rest shape lost at {trial:.4g} m/s: {found.message or JUMP}"

    def _tried(self, trial: float, step: float) -> Shape:
        """Return what is found at a speed [m/s], from where it is expected or from the last."""
        if self.ahead is not None and self.before is not None:
            before, taken = self.before
            found = self.solve(trial, self.ahead(before, self.shape, taken, step))
            if found.found:
                return found
        return self.solve(trial, self.shape)


def follow_speeds(
    branch: Branch[Shape],
    speeds: Iterable[float],
    fallen: Callable[[float, Shape], Shape | None] | None = None,
    forked: Callable[[float, Shape], tuple[bool, Shape | None]] | None = None,
) -> list[Shape]:
    """Follow a rest shape through ascending speeds [m/s].

    Parameters
    ----------
    branch : Branch, where it begins
    speeds : iterable of float [m/s]
    fallen : function of a speed and the last shape before it was lost, returning the stable one
        that the body falls to, or None; without it the branch ends there
    forked : function of a speed and a shape, returning whether it is stable, and the stable one
        where another is; without it a shape is followed stable or not

    Returns
    -------
    list of shapes, one a speed; from the speed where the branch is lost on, ``found`` is false
    and the shape is the last that was found
    """
    results: list[Shape] = []
    asked = list(speeds)
    aside, stable = False, True
    for speed in asked:
        message = branch.reach(speed)
        if message:
            jumped = None if fallen is None else fallen(speed, branch.shape)
            if jumped is None:
                lost = replace(branch.shape, found=False, message=message)
                return results + [lost] * (len(asked) - len(results))
            branch.go_over(speed, jumped)
            aside, message = True, ""
        was_stable = stable
        if forked is not None and speed > 0.0:
            stable, other = forked(speed, branch.shape)
            if other is not None:
                branch.go_over(speed, other)
                aside = True
                message = "" if was_stable else f"at {speed:.4g} m/s {EXCHANGE}"
        results.append(replace(branch.shape, found=True, message=message, aside=aside))
    return results


def strays(found: Shape, low: Shape, high: Shape, turn: Turn) -> bool:
    """Return whether a shape that turned aside lies on another branch than both its neighbours.

    ``low`` and ``high`` are the shapes at the next lower and higher speed sampled. On one branch
    a shape between them is no farther from the nearer one than they are from each other.
    """
    if not (found.aside and found.found and low.found and high.found):
        return False
    nearest = min(turn(found, other) for other in (low, high))
    return bool(nearest > turn(high, low) + STRAY_TURN)
