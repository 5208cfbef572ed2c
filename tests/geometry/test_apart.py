"""How far apart two shapes are."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from simsoft.case.read import load
from simsoft.geometry.apart import OFFSET_COUNTS, shape_distance

BAIT = Path(__file__).parents[2] / "cases" / "swim_97.toml"
TAIL = BAIT.with_name("paddle_100.toml")
SIZES = ("length", "width", "paddle_diameter", "paddle_thickness", "paddle_offset", "body_height",
         "body_width")  # fmt: skip


def of(path, *sets):
    return load(path, sets)


def grown(path, factor):
    part = load(path).parts[0]
    sizes = (part.length, part.width.values[0], part.paddle.width, part.paddle.thickness,
             part.paddle.offset, *part.body_ahead)  # fmt: skip
    return of(path, *(f"parts.tail.{name}={1e3 * factor * size:.9g} mm"
                      for name, size in zip(SIZES, sizes, strict=True)))  # fmt: skip


@pytest.mark.parametrize("sets", [
    ("parts.tail.thickness=2.9 mm",), ("material.durometer=40 OO",), ("water.temperature=4 degC",),
    ("material.density=1080 kg/m^3",),
])  # fmt: skip
def test_stiffness_water_and_weight_are_no_shape(sets):
    assert shape_distance(of(TAIL), of(TAIL, *sets)) == 0.0


def test_a_larger_tail_of_the_same_proportions_is_of_one_shape():
    assert shape_distance(grown(TAIL, 1.0), grown(TAIL, 1.7)) == pytest.approx(0.0, abs=1e-6)


def test_one_size_counts_by_its_logarithm_and_the_offset_over_the_paddle():
    part = load(TAIL).parts[0]
    twice = of(TAIL, f"parts.tail.paddle_thickness={1.5e3 * part.paddle.thickness:.9g} mm")
    assert shape_distance(of(TAIL), twice) == pytest.approx(math.log(1.5), rel=1e-6)
    lower = of(TAIL, f"parts.tail.paddle_offset={1e3 * part.paddle.offset - 1.0:.9g} mm")
    size = math.sqrt(part.paddle.width * part.paddle.height)
    assert shape_distance(of(TAIL), lower) == pytest.approx(OFFSET_COUNTS * 1e-3 / size, rel=1e-6)


@pytest.mark.parametrize("setting", ["body.length=70 mm", "body.height=20 mm"])
def test_the_body_counts(setting):
    assert 0.05 < shape_distance(of(BAIT), of(BAIT, setting)) < math.inf


def test_either_way_is_as_far():
    one, other = of(BAIT), of(BAIT, "parts.tail.paddle_angle=70 deg", "body.height=20 mm")
    assert shape_distance(one, other) == pytest.approx(shape_distance(other, one), rel=1e-12)


def test_another_kind_of_paddle_is_as_far_as_can_be():
    part = load(TAIL).parts[0]
    boot = replace(part, paddle=replace(part.paddle, shape="boot"))
    assert shape_distance(of(TAIL), replace(of(TAIL), parts=(boot,))) == math.inf
    assert shape_distance(of(TAIL), of(BAIT)) == math.inf
    assert (
        shape_distance(of(TAIL), replace(of(TAIL), parts=(part, replace(part, name="two"))))
        == math.inf
    )
