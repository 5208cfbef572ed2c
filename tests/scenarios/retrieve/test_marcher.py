"""A march goes on from another only where it may: else it begins at rest."""

from dataclasses import dataclass, field
from types import SimpleNamespace

import numpy as np
import pytest

from simsoft.bodies.rod.equilibrium import Rest
from simsoft.core.errors import SolveError
from simsoft.results.outcome import Stood
from simsoft.scenarios.retrieve.marcher import OTHER_MOTION, Detail, alike, march_at
from simsoft.solvers.crossing import Lead

SPEED = 0.5
STOOD = Stood(5.0, 0.010, (np.zeros((3, 4)), np.zeros((4, 3, 6)), np.zeros(14)))


@dataclass
class Recorded:
    """A marcher whose marches are made up: from rest to one stroke, onward to another."""

    growth: float = 1.0
    onward: float = 0.011
    begun: dict = field(default_factory=lambda: {SPEED: STOOD})
    lost: bool = False
    settled: bool = True
    from_rest: int = 0

    scenario = SimpleNamespace(duration=None)
    part = SimpleNamespace(length=0.02)

    @property
    def detail(self):
        return Detail(begun=self.begun)

    def lead(self, speed, rest):
        return Lead(self.growth, 5.0, self.growth)

    def at(self, speed, rest, longest=None, start=None, **_):
        if start is None:
            self.from_rest += 1
            return SimpleNamespace(frequency=6.0, stroke=0.030)
        if self.lost:
            raise SolveError("lost")
        march = SimpleNamespace(state=start, settled=self.settled)
        return SimpleNamespace(frequency=5.2, stroke=self.onward, march=march)


def marched(**changes):
    solver = Recorded(**changes)
    rest = Rest(np.zeros((3, 3)), True)
    return march_at(solver, SPEED, rest).stroke, solver.from_rest


def test_goes_on_where_rest_is_left_and_the_motion_is_the_same():
    assert marched() == (0.011, 0)


@pytest.mark.parametrize(
    "changes",
    [
        {"growth": -1.0},  # from rest it may die out
        {"onward": 0.010 * 1.01 * OTHER_MOTION},  # it came to another motion
        {"onward": 0.0},
        {"settled": False},
        {"begun": {}},  # the other did not beat, or two motions stand side by side
        {"begun": None},
        {"lost": True},
    ],
)
def test_begins_at_rest_otherwise(changes):
    assert marched(**changes) == (0.030, 1)


def test_strokes_are_alike_up_to_the_ratio_of_other_motions():
    assert alike(0.01, 0.0149)
    assert alike(0.0149, 0.01)
    assert not alike(0.01, 0.0151)
    assert not alike(0.01, 0.0)
