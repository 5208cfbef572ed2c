"""A paddle that bends, asked as users ask: held in still water and in a stream."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simsoft.case.read import load
from simsoft.engine.run import run
from simsoft.results.record import select

CASES = Path(__file__).parents[3] / "cases"
COARSE = ("numerics.elements=6", 'scenarios.retrieve.speed=["0.5 m/s", "0.6 m/s"]')


def answered(model, *overrides):
    case = load(CASES / "paddle_100.toml", [f"parts.tail.model={model}", *COARSE, *overrides])
    alone = tuple(replace(part, body_ahead=None) for part in case.parts)
    return run(replace(case, parts=alone), bands=False)


def number(result, quantity, **at):
    return select(result.records, quantity, **at)[0].value


@pytest.fixture(scope="module")
def bends():
    return answered("plate")


@pytest.fixture(scope="module")
def stiff():
    return answered("rod")


def test_the_report_says_plate_and_why(bends):
    told = [r for r in bends.records if r.quantity == "model"]
    assert [r.scenario for r in told] == ["tank", "retrieve"]
    for record in told:
        assert record.value == "plate"
        assert "the paddle bends" in record.basis


@pytest.mark.parametrize(
    ("quantity", "at", "apart"),
    [
        ("natural_frequency", {"mode": 1, "medium": "air"}, 0.01),
        ("natural_frequency", {"mode": 3, "medium": "water"}, 0.02),
        ("start_speed", {}, 0.04),
        ("flap_frequency", {"speed": 0.5}, 0.02),
        # nearer to the start a stroke magnifies the difference of the starts
        ("stroke", {"speed": 0.6}, 0.04),
        # the drag grows with the wake of the stroke, and differs as that does
        ("drag", {"speed": 0.5}, 0.04),
        ("drag", {"speed": 0.5, "state": "rest"}, 0.02),
        ("root_moment", {"speed": 0.5, "state": "rest"}, 0.08),
    ],
)
def test_a_thick_paddle_answers_nearly_as_the_stiff_one(bends, stiff, quantity, at, apart):
    assert number(bends, quantity, **at) == pytest.approx(number(stiff, quantity, **at), rel=apart)


def test_how_far_it_bends_is_told_and_drawn(bends):
    still, moving = (number(bends, "rim_deflection", speed=speed) for speed in (0.0, 0.5))
    assert 0.0 < still < 1e-6
    assert 0.05e-3 < moving < 0.5e-3  # a thirtieth of its diameter at most
    kinds = {surface.kind for surface in bends.surfaces}
    assert kinds == {"mode", "beat"}
    beat = next(surface for surface in bends.surfaces if surface.kind == "beat")
    assert beat.places.shape[1] > beat.quads.max()
    assert np.ptp(beat.places[:, :, 1], axis=0).max() > 2e-3
    rest = [shape for shape in bends.shapes if shape.label == "rest" and shape.speed == 0.5]
    np.testing.assert_allclose(rest[0].paddle[0], rest[0].paddle[-1])


def test_a_thin_paddle_bends_more(bends):
    thin = answered("plate", "parts.tail.paddle_thickness=1 mm", "scenarios.retrieve.onset=false")
    assert number(thin, "rim_deflection", speed=0.5) > 5.0 * number(
        bends, "rim_deflection", speed=0.5
    )


def test_it_starts_by_flutter_and_later_where_it_hangs_centred(bends):
    start = select(bends.records, "start_speed")[0]
    assert "eigenvalues" in start.basis
    assert number(bends, "verdict", speed=0.5) == "kicks"
    centred = answered("plate", "parts.tail.paddle_offset=0 mm")
    assert number(centred, "start_speed") > 1.3 * start.value
