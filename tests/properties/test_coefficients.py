"""Defaults, bands and overrides of the free coefficients."""

import math
from dataclasses import fields

import pytest
from physics import strip_part

from simsoft.case.model import LoadsInput, PaddleInput
from simsoft.core.band import Band
from simsoft.properties import coefficients as room

PLATE = PaddleInput("disc", 0.015, 0.015, 0.003, math.radians(88.0), 0.0)
BANDS = {name: value for name, value in vars(room).items() if isinstance(value, Band)}
STRIP = {"normal_drag", "skin_friction"}
PADDLE = {
    "paddle_normal_force",
    "centre_of_pressure",
    "rotary_damping",
    "munk",
    "rim_force",
    "rim_rate",
    "rim_damping",
    "rim_inertia",
    "force_growth",
}


def test_a_paddle_has_what_resolved_flows_ask_for():
    """All together: little edge suction, a measured quasi-steady part."""
    found = {
        "munk": (0.06, 0.0, 0.2),
        "centre_of_pressure": (1.12, 0.95, 1.27),
        "rotary_damping": (0.6, 0.4, 0.9),
        "paddle_normal_force": (1.06, 1.0, 1.2),
    }
    bands = room.coefficients(strip_part(paddle=PLATE))
    for name, ends in found.items():
        assert (bands[name].value, bands[name].low, bands[name].high) == ends, name
        assert "computed here" in bands[name].basis, name
        assert "screening" in bands[name].basis, name


@pytest.mark.parametrize("name", BANDS)
def test_every_default_lies_in_its_band_and_says_where_it_comes_from(name):
    band = BANDS[name]
    assert band.low <= band.value <= band.high
    assert band.low >= 0.0 or band.value == 0.0  # a shift lies to either side of none
    assert band.low < band.high
    assert len(band.basis) > 10


def test_a_strip_has_section_coefficients_only():
    assert set(room.coefficients(strip_part())) == STRIP


def test_a_paddle_tail_has_those_of_the_plate_as_well():
    assert set(room.coefficients(strip_part(paddle=PLATE))) == STRIP | PADDLE


def test_every_coefficient_can_be_set_in_the_case():
    assert {f.name for f in fields(LoadsInput)} >= STRIP | PADDLE


@pytest.mark.parametrize("name", sorted(STRIP | PADDLE))
def test_a_value_given_in_the_case_is_taken_as_exact(name):
    part = strip_part(paddle=PLATE, loads=LoadsInput(**{name: 0.37}))
    found = room.coefficients(part)
    assert found[name] == Band(0.37, 0.37, 0.37, "given")
    untouched = room.coefficients(strip_part(paddle=PLATE))
    assert {k: v for k, v in found.items() if k != name} == {
        k: v for k, v in untouched.items() if k != name
    }


def test_zero_is_a_value_and_not_a_missing_one():
    found = room.coefficients(strip_part(loads=LoadsInput(normal_drag=0.0)))
    assert found["normal_drag"].value == 0.0


def test_round_sections_drag_less_than_flat_ones():
    flat, round_ = (room.coefficients(strip_part(section=s)) for s in ("rectangle", "ellipse"))
    assert flat["normal_drag"] == room.NORMAL_DRAG_STRIP
    assert round_["normal_drag"] == room.NORMAL_DRAG_ROUND
    assert round_["normal_drag"].value < flat["normal_drag"].value


def test_published_values_are_the_ones_in_use():
    """Long flat strip 1.95 (Luhar & Nepf 2011), rate of a disc's wake (Berger et al. 1990)."""
    assert room.NORMAL_DRAG_STRIP.value == 1.95
    assert room.STROUHAL.value == pytest.approx(0.135)
