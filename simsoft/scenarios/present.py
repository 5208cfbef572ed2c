"""How a lure falls as it is: what recipes and the weigh window both start from."""

from __future__ import annotations

from dataclasses import dataclass

from simsoft.case.model import Case, Scenario
from simsoft.lure.assembly import Whole, assemble_whole
from simsoft.lure.free_lure import FreeLure, build_free, free_values, moved_inputs
from simsoft.lure.parts import assemble
from simsoft.scenarios.free.fall import Fall, fall

ELEMENTS = 8  # of every soft chain


@dataclass(frozen=True)
class Present:
    """A lure as it is: the march of its fall, and its mass [kg] less that of its water."""

    fall: Fall
    weight: float


def present(case: Case, scenario: Scenario) -> Present:
    """Return how a lure falls as it is.

    Raises
    ------
    SolveError
        If the march diverges.
    """
    whole, lure = free_of(case)
    return Present(fall_of(whole, lure, scenario), weight_of(lure))


def free_of(case: Case, moved: tuple[str, str] | None = None) -> tuple[Whole, FreeLure]:
    """Return a case as a free lure; ``moved`` is an input and the end of its band it stands at."""
    whole = assemble_whole(case, assemble(case))
    values = free_values(whole)
    if moved is not None:
        ends = [v for name, _, v in moved_inputs(whole) if name == moved[0]]
        values = ends[0 if moved[1] == "low" else -1]
    return whole, build_free(whole, values, elements=ELEMENTS)


def fall_of(whole: Whole, lure: FreeLure, scenario: Scenario) -> Fall:
    """Return the march of a lure's fall."""
    density = whole.water.density
    return fall(lure, tilt=scenario.tilt, line=scenario.line, water_density=density)


def weight_of(lure: FreeLure) -> float:
    """Return the mass [kg] of a lure less that of the water it displaces."""
    return lure.mass - lure.displaced
