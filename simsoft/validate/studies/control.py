"""Study: an aligned ribbon that drag and friction alone must never set going."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from threadpoolctl import threadpool_limits

from simsoft.bodies.rod.setup import modes_at_own_frequency, prepare_rod
from simsoft.bodies.rod.stability import find_onset
from simsoft.case.model import Case
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.solvers.stability import GROWTH_NOISE
from simsoft.validate.studies.tools import demo, only, table

SPEEDS = (0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0)  # [m/s]
DOWNSTREAM = np.array([1.0, 0.0, 0.0])


@dataclass(frozen=True)
class Control:
    """Growth of small motions of the same ribbon with and without the reactive force.

    Attributes
    ----------
    noise : float [1/s], growth below which nothing is said to grow
    drag_only, reactive : tuple of float [1/s], at ``SPEEDS``
    drag_starts, reactive_starts : tuple of float [m/s], speeds where growth begins
    """

    noise: float
    drag_only: tuple[float, ...]
    reactive: tuple[float, ...]
    drag_starts: tuple[float, ...]
    reactive_starts: tuple[float, ...]

    @property
    def never_grows(self) -> bool:
        """Whether drag alone grows nowhere."""
        return not self.drag_starts and max(self.drag_only) <= self.noise


def study() -> Control:
    """Search the growth of both ribbons."""
    case = only(demo("ribbon_150"), "retrieve", gravity=False)
    drag_only, drag_starts, noise = _growth(_with_reactive(case, False))
    reactive, reactive_starts, _ = _growth(_with_reactive(case, True))
    return Control(noise, drag_only, reactive, drag_starts, reactive_starts)


def _with_reactive(case: Case, reactive: bool) -> Case:
    part = case.parts[0]
    loads = replace(part.loads, reactive=reactive, shedding=False)
    return replace(case, parts=(replace(part, loads=loads),))


def _growth(case: Case) -> tuple[tuple[float, ...], tuple[float, ...], float]:
    lure = assemble(case)
    strip = lure.strips[0]
    ready = prepare_rod(Specimen(strip, lure.water, values_of(strip), gravity=False))
    with threadpool_limits(limits=1, user_api="blas"):
        onset = find_onset(
            ready.rod, ready.resting_modulus, ready.material, np.array(SPEEDS), DOWNSTREAM
        )
    sampled = [int(np.argmin(np.abs(onset.speed - speed))) for speed in SPEEDS]
    starts = tuple(c.speed for c in onset.crossings if c.starts)
    noise = GROWTH_NOISE * 2.0 * math.pi * float(modes_at_own_frequency(ready, 1).frequency[0])
    return tuple(float(onset.growth[i]) for i in sampled), starts, noise


def section(control: Control) -> str:
    """Return the study as Markdown."""
    if control.never_grows:
        claim = (
            f"With drag and friction alone no small motion grows at any speed up to "
            f"{SPEEDS[-1]:g} m/s: the largest growth is {max(control.drag_only):.1e} /s, and "
            f"growth counts from {control.noise:.1e} /s on."
        )
    else:
        claim = (
            f"With drag and friction alone something grows: up to {max(control.drag_only):.1e} /s, "
            f"where growth counts from {control.noise:.1e} /s on."
        )
    other = (
        f"The same ribbon with the reactive force starts at {control.reactive_starts[0]:.3g} m/s."
        if control.reactive_starts
        else "The same ribbon does not start with the reactive force either."
    )
    head = ["speed [m/s]", "drag only [1/s]", "with reactive force [1/s]"]
    rows = [
        [f"{speed:g}", f"{one:+.2e}", f"{two:+.2e}"]
        for speed, one, two in zip(SPEEDS, control.drag_only, control.reactive, strict=True)
    ]
    return (
        "## Negative control: ribbon_150 aligned, without gravity\n\n"
        f"Growth of the leading small motion. {claim} {other}\n\n{table(head, rows)}\n"
    )
