"""Wake of a plate: that of a paddle of its shape, off edge on, a moment and no force."""

import numpy as np
import pytest
from physics import close

from simsoft.case.read import loads
from simsoft.core.errors import InputError
from simsoft.hydrodynamics.plate.oscillator import rate_of_flow, wake_of_flow
from simsoft.hydrodynamics.plate.wake import (
    FARTHEST_WAKE,
    PUSH,
    RATE,
    TARGET,
    add_wake_force,
    begin_wakes,
    let_go,
    push_by_free_wakes,
    wake_drive,
)
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.lure.plate_model import build_plate

TEXT = """
title = "plate"
[material]
youngs_modulus = "1 MPa"
[[parts]]
name = "plate"
kind = "strip"
length = "16 mm"
width = "{width} mm"
thickness = "2 mm"
model = "plate"
[parts.loads]
normal_drag = 1.17
{moment}
{more}
[[scenarios]]
name = "stream"
kind = "retrieve"
speed = "0.5 m/s"
"""
SPEED = 0.5


def model_of(width=16, more="", moment="wake_moment = 0.15"):
    lure = assemble(loads(TEXT.format(width=width, more=more, moment=moment)))
    values = values_of(lure.strips[0])
    return (
        build_plate(Specimen(lure.strips[0], lure.water, values, gravity=False, elements=8)),
        lure,
        values,
    )


def axes_of(model):
    normal = model.state[0, 3:]
    along = model.state[model.planform.centre[-1], :3]
    along = along / np.linalg.norm(along)
    return along, np.cross(normal, along), normal


def driven(model, velocity):
    """Return the drive of a plate that moves at a velocity (3,) through still water."""
    drive = np.zeros((2, 3))
    water = np.tile(-velocity, (len(model.state), 1))
    wake_drive(model.wake, model.flow, model.state, np.zeros_like(model.state), water, drive)
    return drive


@pytest.mark.parametrize("angle", [90.0, 70.0, 45.0, 10.0])
def test_a_stiff_plate_sheds_at_its_rate_with_the_stated_moment(angle):
    # the chord is the plate's width; the water meets the plate from its side
    model, lure, _ = model_of(width=12)
    _, across, normal = axes_of(model)
    sine, cosine = np.sin(np.radians(angle)), np.cos(np.radians(angle))
    drive = driven(model, SPEED * (cosine * across + sine * normal))
    area = 12e-3 * 16e-3
    moment = 0.5 * 0.15 * 0.5 * lure.water.density * SPEED**2 * sine * area * 12e-3
    # pressures along the chord: the moment about the third axis turns the other way
    assert drive[1, PUSH] == close(-moment)
    assert drive[1, RATE] == close(rate_of_flow(SPEED, sine, 12e-3, 0.135))
    # its quasi-steady state is that of the centre of pressure
    expected = wake_of_flow(SPEED, sine, cosine, 12e-3, 0.135, 1.17, 1.2, 0.15)
    assert drive[1, RATE:] == close(expected)


def test_a_square_has_two_wakes_alike_and_an_oblong_plate_one_that_leads():
    model = model_of(width=16)[0]
    drive = driven(model, SPEED * axes_of(model)[2])
    assert drive[0] == close(drive[1])
    model = model_of(width=8)[0]
    drive = driven(model, SPEED * axes_of(model)[2])
    assert drive[1, RATE] == close(2.0 * drive[0, RATE])
    assert drive[0, PUSH] == close(0.5 * drive[1, PUSH])  # twice the chord, a quarter of C_M0


@pytest.mark.parametrize(("angle", "most"), [(30.0, 0.3), (10.0, 0.01), (2.0, 1e-4)])
def test_a_plate_that_trails_in_attached_flow_sheds_nothing(angle, most):
    model = model_of()[0]
    along, _, normal = axes_of(model)
    square = driven(model, SPEED * normal)[0, PUSH]
    sine, cosine = np.sin(np.radians(angle)), np.cos(np.radians(angle))
    trailing = driven(model, SPEED * (sine * normal - cosine * along))
    assert abs(trailing[0, PUSH]) < most * abs(square)
    # where there is no attached flow that fades with the sine alone, as a paddle's
    model = model_of(more="reactive = false")[0]
    trailing = driven(model, SPEED * (sine * normal - cosine * along))
    assert trailing[0, PUSH] == close(sine * driven(model, SPEED * normal)[0, PUSH])


def test_the_wake_is_a_moment_and_no_force_and_none_in_the_rest_shape():
    model = model_of(width=12)[0]
    along, across, normal = axes_of(model)
    velocity = SPEED * (0.8 * normal + 0.36 * along - 0.48 * across)
    water = np.tile(-velocity, (len(model.state), 1))
    wake, shed = begin_wakes(model.wake, model.flow, model.state, water)
    drive = driven(model, velocity)
    force = np.zeros_like(model.state)
    add_wake_force(wake, model.flow, drive, model.state, drive[:, TARGET].copy(), force)
    assert np.abs(force).max() < 1e-15
    assert shed[:, 0] == close(drive[:, TARGET] + 0.1)
    wakes = drive[:, TARGET] + np.array([1.0, 0.0])
    add_wake_force(wake, model.flow, drive, model.state, wakes, force)
    assert np.abs(force[:, :3].sum(axis=0)).max() < 1e-9 * np.abs(force).max()
    moment = np.cross(model.state[:, :3], force[:, :3]).sum(axis=0)
    # sum of s f along the chord turns about minus the axis across
    assert moment @ across == close(-drive[0, PUSH])
    assert abs(moment @ along) < 1e-6 * abs(drive[0, PUSH])


@pytest.mark.parametrize(
    ("moment", "more"),
    [
        ("", ""),
        ("", "shedding = true"),
        ("wake_moment = 0", ""),
        ("wake_moment = 0.15", "shedding = false"),
    ],
)
def test_a_plate_sheds_only_where_the_case_states_the_moment(moment, more):
    model, _, values = model_of(moment=moment, more=more)
    assert not np.any(model.wake.moment)
    assert "wake_moment" not in values
    assert np.any(model_of()[0].wake.moment)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('model = "plate"', 'model = "rod"', "only a plate sheds a wake"),
        ("wake_moment = 0.1", "munk = 0.5", "only a paddle-tail has a paddle"),
    ],
)
def test_coefficients_of_a_wake_that_is_not_shed_are_refused(old, new, said):
    text = TEXT.format(width=12, more="", moment="wake_moment = 0.1")
    assert loads(text).parts[0].loads.wake_moment == 0.1
    with pytest.raises(InputError, match=said):
        loads(text.replace(old, new))


def pushed(model, incidence, excess):
    """Return the force of wakes ``excess`` beyond their quasi-steady states, and these states."""
    along, _, normal = axes_of(model)
    velocity = -SPEED * (np.cos(incidence) * along + np.sin(incidence) * normal)
    target = driven(model, velocity)[:, TARGET]
    water, force = np.tile(-velocity, (len(model.state), 1)), np.zeros_like(model.state)
    push_by_free_wakes(
        model.wake, model.flow, model.state, np.zeros_like(model.state), water, target + excess,
        force,
    )  # fmt: skip
    return force, target


def test_a_plate_carried_about_feels_what_its_wakes_are_beyond_their_quasi_steady_states():
    model = model_of()[0]
    none, target = pushed(model, np.radians(75.0), 0.0)
    some, _ = pushed(model, np.radians(75.0), 1.0)
    assert np.abs(target).max() < FARTHEST_WAKE
    assert np.abs(none).max() < 1e-15
    assert np.abs(some).max() > 1e-6
    assert np.abs(some.sum(axis=0)).max() < 1e-9 * np.abs(some).max()  # a moment, no force


def test_a_wake_that_no_shedding_reaches_does_not_push_and_is_let_go():
    """Of a slender plate at an incidence the quasi-steady state along it is far off, and slow."""
    model = model_of(width=1)[0]
    force, target = pushed(model, np.radians(45.0), np.array([50.0, 0.0]))
    assert abs(target[0]) > FARTHEST_WAKE
    assert np.abs(force).max() < 1e-15
    shed = np.zeros((2, 4))
    shed[:, 3] = target
    let_go(shed)
    assert shed[0, 0] == target[0]
    assert shed[1, 0] == 0.0
