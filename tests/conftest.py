"""A synthetic run that the output tests share: two parts, three speeds. Numbers are invented."""

import math

import numpy as np
import pytest
from hypothesis import settings

from simsoft.case.model import (
    Case,
    MaterialInput,
    PaddleInput,
    Part,
    Scenario,
    Taper,
    WaterInput,
)
from simsoft.results.record import Record, missing
from simsoft.results.result import RunResult, Shape, Trace

# the first example of a kernel pays for its compilation
settings.register_profile("compiled", deadline=None)
settings.load_profile("compiled")

SCENARIO = "stream"
ROOT = np.array([0.04, 0.0, 0.001])
BASIS = "wake-oscillator paddle, screening"
RESPONSE = {
    # speed [m/s]: verdict, then value, low, high of frequency [Hz], stroke [m], fold-back [deg],
    # drag [N], side force [N], root moment [N m]
    0.3: (
        "kicks",
        (3.42, 2.8, 4.2),
        (0.0081, 0.003, 0.021),
        (9.4, 6.2, 14.0),
        (0.0121, 0.0098, 0.0149),
        (0.0042, 0.0021, 0.0084),
        (0.00052, 0.0004, 0.0007),
    ),
    0.5: (
        "kicks",
        (5.61, 4.6, 6.9),
        (0.0163, 0.006, 0.043),
        (24.1, 16.0, 36.0),
        (0.0334, 0.0271, 0.0412),
        (0.0117, 0.0058, 0.0235),
        (0.00143, 0.0011, 0.0019),
    ),
}
QUANTITIES = (
    ("flap_frequency", "Hz"),
    ("stroke", "m"),
    ("fold_back", "deg"),
    ("drag", "N"),
    ("side_force", "N"),
    ("root_moment", "N m"),
)


def _case():
    stem = Part(
        name="tail",
        kind="paddle-tail",
        length=0.045,
        width=Taper((0.0, 1.0), (0.006, 0.004)),
        thickness=Taper((0.0, 1.0), (0.003, 0.002)),
        paddle=PaddleInput("disc", 0.016, 0.016, 0.002, math.pi / 2, 0.0),
    )
    leg = Part(
        name="leg",
        kind="leg",
        length=0.02,
        width=Taper((0.0, 1.0), (0.002, 0.001)),
        thickness=Taper((0.0, 1.0), (0.002, 0.001)),
    )
    return Case(
        title="Demo paddle tail, 100 mm",
        water=WaterInput(),
        material=MaterialInput(hardness_scale="OO", hardness=50.0),
        parts=(stem, leg),
        scenarios=(Scenario(SCENARIO, "retrieve", (0.1, 0.3, 0.5)),),
        text='title = "Demo paddle tail, 100 mm"\n# water at 20 °C\n',
    )


def _records_of_tail():
    def record(quantity, value, low, high, unit, **at):
        return Record(SCENARIO, "tail", quantity, value, low, high, unit, BASIS, at)

    def word(quantity, value, **at):
        return Record(SCENARIO, "tail", quantity, value, None, None, "", BASIS, at)

    yield record("natural_frequency", 6.2, 5.0, 7.6, "Hz", mode=1, medium="air")
    yield record("natural_frequency", 3.1, 2.5, 3.8, "Hz", mode=1, medium="water")
    yield record("natural_frequency", 31.0, 25.0, 38.0, "Hz", mode=2, medium="air")
    yield record("natural_frequency", 17.4, 14.0, 21.0, "Hz", mode=2, medium="water")
    yield record("start_speed", 0.243, 0.16, 0.36, "m/s")
    yield record("start_frequency", 2.9, 2.3, 3.6, "Hz")
    yield word("doubt", "durometer", of="start_speed", share=0.6)
    yield word("doubt", "Strouhal number", of="flap_frequency", share=0.8)
    yield word("verdict", "still", speed=0.1)
    for quantity, unit in QUANTITIES[:2]:
        yield missing(SCENARIO, "tail", quantity, unit, BASIS, "the tail does not move", speed=0.1)
    yield record("fold_back", 1.1, 0.8, 1.6, "deg", speed=0.1)
    for speed, (verdict, *bands) in RESPONSE.items():
        yield word("verdict", verdict, speed=speed)
        for (quantity, unit), band in zip(QUANTITIES, bands, strict=True):
            yield record(quantity, *band, unit, speed=speed)
    tip = (0.041, 0.0, -0.006)
    yield Record(SCENARIO, "tail", "tip_position", tip, tip, tip, "m", BASIS, {"speed": 0.5})
    yield Record(SCENARIO, "tail", "mass", 0.00121, 0.00118, 0.00125, "kg", "geometry")


def _records_of_leg():
    reason = "stable at every speed up to 1.5 m/s"
    yield missing(SCENARIO, "leg", "start_speed", "m/s", "reactive rod", reason)
    for speed in (0.1, 0.3, 0.5):
        yield Record(
            SCENARIO, "leg", "verdict", "still", None, None, "", "reactive rod", {"speed": speed}
        )


def _centreline(fold, kick=0.0, nodes=21):
    along = np.linspace(0.0, 0.045, nodes)
    fraction = along / along[-1]
    angle = np.radians(fold) * fraction
    step = along[1]
    down = -np.cumsum(np.sin(angle)) * step
    out = np.concatenate([[0.0], np.cumsum(np.cos(angle))[:-1]]) * step
    return np.column_stack([out, kick * fraction**2, down])


def _paddle(tip, kick_angle):
    turn = np.linspace(0.0, 2.0 * np.pi, 40)
    side, up = 0.008 * np.cos(turn), 0.008 * np.sin(turn)
    return tip + np.column_stack([side * np.sin(kick_angle), side * np.cos(kick_angle), up])


def _shape(label, fold, speed):
    line = _centreline(fold)
    half = np.array([0.0, 0.0, 0.0025])
    edges = np.stack([line - half, line + half], axis=1)
    return Shape(SCENARIO, "tail", speed, line, edges, _paddle(line[-1], 0.1), label, ROOT)


def _trace(speed, frequency, stroke, fold):
    time = np.arange(0.0, 4.0, 0.002)
    grow = stroke / 2.0 * (1.0 - np.exp(-time / 0.5))
    phase = 2.0 * np.pi * frequency * time
    tip = np.tile(_centreline(fold)[-1], (time.size, 1))
    tip[:, 1] += grow * np.sin(phase)
    tip[:, 0] -= 2.0 * grow**2 * np.sin(phase) ** 2
    wave = np.column_stack([0.03 + 0.0 * time, 0.01 * np.sin(phase), 0.0 * time])
    cycle = np.sin(np.linspace(0.0, 2.0 * np.pi, 12, endpoint=False))
    strobe = np.stack([_centreline(fold, stroke / 2.0 * s) for s in cycle])
    half = np.array([0.0, 0.0, 0.0025])
    return Trace(
        scenario=SCENARIO,
        part="tail",
        speed=speed,
        time=time,
        tip=tip,
        tangent=np.tile([1.0, 0.0, 0.0], (time.size, 1)),
        force=wave,
        moment=wave * 0.045,
        wake=2.0 * np.sin(phase),
        strobe=strobe,
        strobe_time=4.0 - np.linspace(1.0, 0.0, 12, endpoint=False) / frequency,
        edges=np.stack([strobe - half, strobe + half], axis=2),
        paddle=np.stack([_paddle(line[-1], 0.1) for line in strobe]),
        root=ROOT,
        settled=True,
        message="settled after 14 cycles",
        window=(2.5, 4.0),
        step=0.002,
        elements=20,
        energy={"work": 1.2e-3, "dissipated": 1.1e-3, "stored": 1.0e-4, "residual": 2.0e-4},
    )


@pytest.fixture
def synthetic_result():
    """A run as the solver would return it."""
    shapes = [_shape("moulded", 0.0, 0.0)]
    traces = []
    for speed, (_, frequency, stroke, fold, *_forces) in RESPONSE.items():
        shapes.append(_shape("rest", fold[0], speed))
        traces.append(_trace(speed, frequency[0], stroke[0], fold[0]))
    return RunResult(
        case=_case(),
        records=(*_records_of_tail(), *_records_of_leg()),
        warnings=("parts.tail: the stroke rests on a coefficient that no film has set yet",),
        shapes=tuple(shapes),
        traces=tuple(traces),
    )
