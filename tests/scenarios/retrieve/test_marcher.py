"""A march goes on from another only where it may: else it begins at rest."""

from dataclasses import dataclass, field
from types import SimpleNamespace

import numpy as np
import pytest

from simsoft.bodies.rod.equilibrium import Rest, make_stream
from simsoft.bodies.rod.tangents import at_rest
from simsoft.case.read import loads
from simsoft.core.errors import SolveError
from simsoft.engine.part import equilibria, rod
from simsoft.results.outcome import Stood
from simsoft.scenarios.retrieve.marcher import (
    ELSEWHERE,
    OTHER_MOTION,
    Detail,
    Marcher,
    alike,
    march_at,
)
from simsoft.solvers.crossing import Lead
from simsoft.solvers.limit_cycle import Beat
from simsoft.solvers.time_march import CAME_TO_REST, CLOSELY, STILL_STROKE
from tests.golden.cases import HEAD, PADDLE, few, stream

SPEED = 0.5
X = np.array([1.0, 0.0, 0.0])
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
    rested: dict = field(default_factory=dict)

    faded: bool = False
    tip: float = 0.0

    stays = Marcher.stays
    settling = Marcher.settling
    scenario = SimpleNamespace(duration=None)
    part = SimpleNamespace(length=0.02)

    @property
    def detail(self):
        return Detail(begun=self.begun, rested=self.rested)

    def at_rest(self, speed, rest):
        return Beat(0.0, 0.0, X, 0.2, np.zeros(3), 1.0, 0.0, 2.0, None)

    def lead(self, speed, rest):
        return Lead(self.growth, 5.0, self.growth)

    def at(self, speed, rest, longest=None, start=None, settling=CLOSELY, **_):
        if start is None:
            self.from_rest += 1
            rested = self.faded and settling.dies
            march = SimpleNamespace(message=CAME_TO_REST if rested else "repeats itself")
            return SimpleNamespace(
                frequency=6.0, stroke=0.030, tip=np.array([0.0, self.tip, 0.0]), march=march
            )
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


PASSAGE = Recorded.part.length / SPEED


@pytest.mark.parametrize(
    ("changes", "stroke"),
    [
        ({"growth": -2.0, "rested": {SPEED: -2.0 * PASSAGE}}, 0.0),
        ({"growth": -2.0, "rested": {SPEED: -3.0 * PASSAGE, 0.6: -1.0 * PASSAGE}}, 0.0),
        ({"growth": -1.9, "rested": {SPEED: -2.0 * PASSAGE}}, 0.030),  # dies out more slowly
        ({"growth": -2.0, "rested": {0.6: -1.0 * PASSAGE}}, 0.030),  # the unmoved one beat here
        ({"growth": 1.0, "rested": {SPEED: 2.0}, "begun": {}}, 0.030),  # it grows
        ({"growth": -2.0, "rested": {SPEED: -2.0 * PASSAGE}, "begun": None}, 0.0),
    ],
)
def test_marches_not_where_it_is_sure_to_come_to_rest(changes, stroke):
    assert marched(**changes) == (stroke, 1 if stroke else 0)


def test_what_has_faded_near_its_rest_shape_has_the_measures_of_that():
    assert marched(growth=-1.0, faded=True, begun=None) == (0.0, 1)


def test_what_has_faded_elsewhere_is_watched_for_longer():
    far = 1.1 * ELSEWHERE * Recorded.part.length
    assert marched(growth=-1.0, faded=True, begun=None, tip=far) == (0.030, 2)


def test_at_rest_it_is_loaded_as_its_rest_shape_is():
    case = loads(HEAD.format(kind="rest") + PADDLE + stream(0.1) + few(6), "case.toml", [])
    body = rod(case, "tail")
    rest = equilibria(body, [0.1])[0]
    solver = Marcher(body, case.scenarios[1], np.array([1.0, 0.0, 0.0]), 5.0, Detail())
    beat = solver.at_rest(0.1, rest.angle)
    water = make_stream(0.1, np.array([1.0, 0.0, 0.0]))
    load = at_rest(body.resting_rod(), water, rest.angle).load
    assert (beat.frequency, beat.stroke, beat.side_force) == (0.0, 0.0, 0.0)
    assert beat.drag == pytest.approx(load[0], rel=1e-6)
    assert beat.root_moment == pytest.approx(np.linalg.norm(load[3:]), rel=1e-6)
    marched = solver.at(0.1, rest.angle)
    assert marched.march.message == CAME_TO_REST
    assert beat.fold_back == pytest.approx(marched.fold_back, abs=STILL_STROKE)


def test_strokes_are_alike_up_to_the_ratio_of_other_motions():
    assert alike(0.01, 0.0149)
    assert alike(0.0149, 0.01)
    assert not alike(0.01, 0.0151)
    assert not alike(0.01, 0.0)
