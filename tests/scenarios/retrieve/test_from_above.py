"""Motions side by side: what is looked for, what is told, and marches that go on from another."""

import dataclasses

import numpy as np
import pytest

from simsoft.bodies.paddle.setup import prepare_stem
from simsoft.bodies.plate.setup import prepare_plate
from simsoft.bodies.plate.time_march import march_plate
from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.case.read import loads
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.results.outcome import Outcome
from simsoft.scenarios.retrieve.from_above import add_from_above
from simsoft.scenarios.retrieve.marcher import Detail
from simsoft.scenarios.retrieve.paddle import PaddleInStream
from simsoft.scenarios.retrieve.plate import PlateInStream
from simsoft.solvers.limit_cycle import Beat
from simsoft.solvers.time_march import Ends, March, Settling, TimeStep
from tests.golden.cases import FIN

HEAD = """
title = "Part in a stream"
[water]
temperature = "18 degC"
[material]
durometer = "46 OO"
density = "1030 kg/m^3"
[[scenarios]]
name = "retrieve"
kind = "retrieve"
speed = ["0.5 m/s"]
"""
PADDLE = """
[[parts]]
name = "tail"
kind = "paddle-tail"
model = "plate"
length = "11 mm"
width = "5 mm"
thickness = "2.4 mm"
paddle_diameter = "15 mm"
paddle_thickness = "3 mm"
paddle_offset = "3 mm"
"""
SPEEDS = (0.2, 0.4, 0.6)


def beat(stroke, frequency, settled=True, state="here"):
    none = np.zeros((0, 3))
    march = March(
        none, none, none, none, none, none, none, none, settled, "", (0, 0), {}, 0.0, state
    )
    zero = np.zeros(3)
    return Beat(frequency, stroke, zero, 0.0, zero, 0.0, 0.0, 0.0, march)


STILL, BEATS = beat(0.0, 0.0), beat(0.004, 5.0)


def looked(beats, found):
    """Return the outcome, and the speeds and starts that were marched anew."""
    outcome, asked = Outcome(), []

    def again(speed, _, stands, expected):
        asked.append((speed, stands))
        return found

    add_from_above(outcome, "fin", again, SPEEDS, (None,) * 3, beats)
    return outcome, asked


def told(outcome, quantity):
    return {dict(at)["speed"]: a.value for (q, at), a in outcome.answers.items() if q == quantity}


def test_a_beat_held_where_the_march_from_rest_is_still_is_a_second_motion():
    outcome, asked = looked((STILL, STILL, BEATS), beat(0.003, 4.0))
    assert (0.4, "here") in asked
    assert told(outcome, "stroke_from_above") == {0.2: 0.003, 0.4: 0.003, 0.6: 0.003}
    assert told(outcome, "flap_frequency_from_above")[0.4] == 4.0
    assert "two motions side by side, stroke 0 mm from a small kick and 3 mm" in " ".join(
        outcome.warnings
    )


def test_nothing_is_marched_where_no_neighbour_beats_nor_where_nothing_is_known():
    assert looked((STILL, STILL, STILL), BEATS)[1] == []
    assert looked((None, None, None), BEATS)[1] == []
    open_ended = dataclasses.replace(BEATS, march=dataclasses.replace(BEATS.march, settled=False))
    assert looked((STILL, STILL, open_ended), STILL)[1] == [(0.4, "here")]


def test_a_large_motion_that_has_not_settled_is_no_second_motion():
    outcome, _ = looked((STILL, STILL, BEATS), beat(0.003, 4.0, settled=False))
    assert told(outcome, "stroke_from_above") == {}
    assert "fin at 0.4 m/s: a large motion stands open" in " ".join(outcome.warnings)


def held(kind, text, prepare, elements=4):
    case = loads(HEAD + text, "part.toml")
    lure = assemble(case)
    strip = lure.strips[0]
    ready = prepare(Specimen(strip, lure.water, values_of(strip), elements=elements, gravity=True))
    return kind(ready, case.scenarios[0], Detail(pictures=False))


@pytest.fixture(scope="module")
def fin():
    return held(PlateInStream, FIN.format(more=""), prepare_plate)


def test_a_march_of_a_plate_goes_on_where_another_stands(fin):
    ready, speed = fin.ready, 0.6
    rest = fin.rests(np.array([speed]))[0]
    modulus, damping = ready.material(5.0)
    plate = ready.moving_plate(rest.state, modulus)
    kick = fin._kicks(plate, modulus, speed, rest, 0.02)

    def march(longest, start=None):
        return march_plate(
            ready.model, plate, modulus, damping, make_stream(speed, fin.direction), rest.state,
            kick, frequency=8.0, ends=Ends(longest, longest, Settling(faded=0.0)),
            step=TimeStep(stated=2e-3), start=start,
        )  # fmt: skip

    whole, first = march(0.9), march(0.4)
    kept = first.state.motion.copy()
    second = march(0.4, first.state)
    assert np.array_equal(kept, first.state.motion)
    assert len(second.time) == len(first.time)
    size = np.ptp(whole.shapes[:, -1], axis=0).max()
    joined = np.concatenate([first.shapes, second.shapes])
    assert np.allclose(joined, whole.shapes[: len(joined)], rtol=0.0, atol=1e-3 * size)


def test_a_plate_past_its_start_is_not_called_still_because_the_kick_missed_what_grows():
    """Ten per cent past its start: from a kick in its modes in water alone it came to rest."""
    speed, fin = 0.8, held(PlateInStream, FIN.format(more=""), prepare_plate, elements=8)
    rest = fin.rests(np.array([speed]))[0]
    _, lead, grows = fin.moved_by(speed, rest)
    assert lead.growth > 0.0
    assert grows is not None
    found = fin.beat_at(speed, rest)
    assert found.stroke > 0.02 * fin.part.length
    assert found.frequency == pytest.approx(lead.frequency, rel=0.3)


def test_below_its_start_a_plate_has_no_growing_motion_and_comes_to_rest_from_above(fin):
    rests = fin.rests(np.array([0.4, 0.9]))
    assert fin.moved_by(0.4, rests[0])[2] is None
    above = fin.beat_at(0.9, rests[1])
    found = fin.again(0.4, rests[0], above.march.state, None)
    assert found.march.settled
    assert found.stroke == 0.0


def test_a_bending_paddle_goes_on_from_its_own_beat_and_strokes_the_same():
    tail = held(PaddleInStream, PADDLE, prepare_stem)
    rest = tail.rests(np.array([0.6]))[0]
    own, _ = tail.at(0.6, rest)
    assert own.march.settled
    assert own.frequency > 0.0
    for stands in (own.march.state, None):
        again = tail.again(0.6, rest, stands, own.frequency)
        assert again.stroke == pytest.approx(own.stroke, rel=0.05)
