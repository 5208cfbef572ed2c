"""Plates in still water: against the rod when slender, records, speed of the modes."""

import numpy as np
import pytest

from simsoft.bodies.plate.modes import mass_operator
from simsoft.case.read import loads
from simsoft.engine.run import run
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.lure.plate_model import build_plate, cached_panels
from simsoft.results.record import select

TEXT = """
title = "fin"
[water]
density = "998.2 kg/m^3"
viscosity = "1.002 mPa s"
[material]
youngs_modulus = "200 kPa"
poisson_ratio = 0.49
density = "1080 kg/m^3"
loss_factor = 0.1
[[parts]]
name = "fin"
kind = "strip"
length = "40 mm"
width = "{width} mm"
thickness = "1 mm"
direction = [1, 0, 0]
width_axis = [0, 1, 0]
model = "{model}"
[[scenarios]]
name = "tank"
kind = "hold"
"""


def solve(model, width, *overrides):
    case = loads(TEXT.format(model=model, width=width), "fin.toml", list(overrides))
    return run(case, bands=False).records


def first(records, medium):
    return next(
        r.value
        for r in select(records, "natural_frequency", medium=medium)
        if r.at["motion"] == "soft bending"
    )


def test_slender_plate_agrees_with_the_rod():
    gaps = []
    for width in (10, 2.5):
        rod, plate = (solve(m, width, "numerics.elements=32") for m in ("rod", "plate"))
        gaps.append([abs(first(plate, m) / first(rod, m) - 1.0) for m in ("air", "water")])
    assert max(gaps[1]) < 0.015
    assert gaps[1][1] < gaps[0][1] + 0.005


def test_sag_of_a_slender_plate_is_that_of_the_rod():
    rod, plate = (
        select(solve(m, 3, "numerics.elements=32"), "fold_back")[0].value for m in ("rod", "plate")
    )
    assert plate == pytest.approx(rod, rel=0.02)


def test_the_report_says_plate_and_why():
    (record,) = select(solve("auto", 20), "model")
    assert record.value == "plate"
    assert "width is 0.5 of the length" in record.basis


def test_wet_mass_is_symmetric_and_positive():
    lure = assemble(loads(TEXT.format(model="plate", width=20), "fin.toml"))
    strip = lure.strips[0]
    model = build_plate(Specimen(strip, lure.water, values_of(strip), gravity=True, elements=6))
    size = len(model.free)
    mass = mass_operator(model, model.state) @ np.eye(size)
    assert np.allclose(mass, mass.T, atol=1e-12 * np.abs(mass).max())
    assert np.linalg.eigvalsh(mass).min() > 0.0
    again = cached_panels(model.planform.plan, model.planform.quads)
    assert again is cached_panels(model.planform.plan.copy(), model.planform.quads.copy())


def test_a_rod_says_that_it_is_one_and_why():
    (record,) = select(solve("rod", 20), "model")
    assert record.value == "rod"
    assert "asked for" in record.basis


def test_drawn_modes_are_the_rest_shape_and_a_swing_of_a_quarter_length():
    found = run(loads(TEXT.format(model="plate", width=20), "fin.toml"), bands=False).surfaces
    assert len(found) == 3
    for surface in found:
        swing = np.linalg.norm(surface.places[1] - surface.places[0], axis=1)
        assert swing.max() == pytest.approx(0.25 * 0.04)
        assert swing[surface.places[0][:, 0] < 1e-9].max() == 0.0
