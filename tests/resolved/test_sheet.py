"""A plate in the resolved flow: its slabs, its loads and its ringing."""

import h5py
import numpy as np
import pytest
from tanks import TAIL

from simsoft.bodies.plate.modes import plate_modes
from simsoft.case.read import loads
from simsoft.core.signals import cycles
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.lure.plate_model import build_plate
from simsoft.resolved.choose import LIGHT, suited
from simsoft.resolved.job import Settings, read_tuple, write_tuple
from simsoft.resolved.pieces import THINNEST, form, in_cells, no_pieces, with_piece
from simsoft.resolved.processor import ProcessorFlow
from simsoft.resolved.run import lay_out
from simsoft.resolved.sheet import (
    lightness_of_sheet,
    remember_sheet,
    ride_sheet,
    start_sheet,
    step_sheet,
    tip_path,
)
from simsoft.resolved.sheet_job import plate_job
from simsoft.resolved.slabs import element_axes, loads_on_nodes, sheet_pieces
from simsoft.resolved.solids import BOX, SLAB, nearest_solid

FLAP = (
    TAIL.split("[[parts]]")[0]
    + """
[[parts]]
name = "flap"
kind = "strip"
model = "plate"
length = "20 mm"
width = "14 mm"
thickness = "1.5 mm"
[[scenarios]]
name = "stream"
kind = "retrieve"
speed = ["0.5 m/s"]
"""
)
MODULUS, ELEMENTS = 2.0e5, 6
SIDE, THICK = 0.02, 0.004  # [m] of a stiff square


def flap_parts(*changes):
    lure = assemble(loads(FLAP, overrides=changes))
    strip = lure.strips[0]
    assert strip.solved_as == "plate"
    return strip, lure.water, values_of(strip)


@pytest.fixture(scope="module")
def job():
    strip, water, values = flap_parts()
    return plate_job(
        strip,
        water,
        values,
        speed=0.5,
        modulus=MODULUS,
        damping_time=0.0,
        gravity=False,
        elements=ELEMENTS,
    )


def warped(job, seed=3):
    """Return the sheet's places and rates with noise on them: no element is plane."""
    rng = np.random.default_rng(seed)
    held = start_sheet(job.sheet, 4)
    held.motion[0] += 1.0e-3 * rng.normal(size=held.motion[0].shape)
    held.motion[1] = rng.normal(size=held.motion[1].shape)
    return held


def test_force_and_moment_of_the_slabs_reach_the_nodes_whole(job):
    held, rng = warped(job), np.random.default_rng(4)
    offset = 1.0e-3 * rng.normal(size=job.pieces.offset.shape)
    pieces = job.pieces._replace(offset=offset)
    given = rng.normal(size=(len(offset), 6))
    given[:, 3:] *= 1.0e-3
    place = held.motion[0][:, :3]
    on_nodes = loads_on_nodes(job.sheet.plate.quads, place, pieces, given)
    centre = ride_sheet(job.sheet, held, pieces).centre - job.sheet.root
    assert on_nodes.sum(axis=0) == pytest.approx(given[:, :3].sum(axis=0), abs=1e-12)
    moment = np.cross(centre, given[:, :3]) + given[:, 3:]
    assert np.cross(place, on_nodes).sum(axis=0) == pytest.approx(moment.sum(axis=0), abs=1e-13)


def test_the_loads_work_on_the_nodes_as_on_the_slabs(job):
    held, rng = warped(job), np.random.default_rng(5)
    given = rng.normal(size=(len(job.pieces.link), 6))
    places = ride_sheet(job.sheet, held, job.pieces)
    on_slabs = (given[:, :3] * places.velocity).sum() + (given[:, 3:] * places.spin).sum()
    place, rate = held.motion[0][:, :3], held.motion[1][:, :3]
    on_nodes = (loads_on_nodes(job.sheet.plate.quads, place, job.pieces, given) * rate).sum()
    assert on_nodes == pytest.approx(on_slabs, rel=1e-10)


def test_slabs_of_a_sheet_that_moves_as_one_body_move_so(job):
    held = warped(job)
    spin, velocity = np.array([3.0, -2.0, 5.0]), np.array([0.1, 0.2, -0.3])
    place = held.motion[0][:, :3]
    held.motion[1][:, :3] = velocity + np.cross(spin, place)
    places = ride_sheet(job.sheet, held, job.pieces)
    centre = places.centre - job.sheet.root
    assert places.spin == pytest.approx(np.broadcast_to(spin, places.spin.shape), abs=1e-10)
    assert places.velocity == pytest.approx(velocity + np.cross(spin, centre), abs=1e-12)
    turned = np.einsum("pji,pjk->pik", places.axes, places.axes)
    assert turned == pytest.approx(np.broadcast_to(np.eye(3), turned.shape), abs=1e-12)


def square(count=3):
    """Return nodes and elements of a stiff square across the stream, and one box of its size."""
    line = np.linspace(-0.5 * SIDE, 0.5 * SIDE, count + 1)
    state = np.zeros(((count + 1) ** 2, 6))
    state[:, 1:3] = [(y, z) for y in line for z in line]
    state[:, 3] = 1.0
    row = np.arange(count)[:, None] * (count + 1) + np.arange(count)
    quads = np.stack([row, row + count + 1, row + count + 2, row + 1], axis=2).reshape(-1, 4)
    slabs = sheet_pieces(quads, state, np.full(len(quads), THICK))
    middle, axes, _, _ = element_axes(state[quads, :3])
    edge = float(slabs.forms[0, 4])
    half = 0.5 * SIDE
    box = with_piece(no_pieces(), form(BOX, 0.5 * THICK, half, half, edge), -1, np.zeros(3),
                     np.eye(3))  # fmt: skip
    return (slabs, middle, axes), (box, np.zeros((1, 3)), np.eye(3)[None])


def posed(middle, axes, cell, centre, velocity, spin):
    """Return poses (1, P, 18) in cells of solids that move as one body."""
    poses = np.zeros((1, len(middle), 18))
    arm = middle / cell
    poses[0, :, :3] = centre + arm
    poses[0, :, 3:12] = axes.reshape(-1, 9)
    poses[0, :, 12:15] = velocity + np.cross(spin, arm)
    poses[0, :, 15:18] = spin
    return poses.astype(np.float32)


def test_slabs_side_by_side_are_one_box_without_a_groove():
    cell = SIDE / 10.0
    centre, still = np.zeros(3), np.zeros(3)
    one, many = ((in_cells(pieces, cell), posed(middle, axes, cell, centre, still, still)[0])
                 for pieces, middle, axes in reversed(square()))  # fmt: skip
    rng = np.random.default_rng(6)
    for point in rng.uniform((-2.5, -6.0, -6.0), (2.5, 6.0, 6.0), size=(400, 3)):
        far = [nearest_solid(*np.float32(point), forms, poses, table)[0]
               for (forms, table), poses in (one, many)]  # fmt: skip
        if min(far) > 2.0:
            continue
        beside = np.abs(point[1:]).min() < 4.5  # beyond corners a slab's distance is less
        assert far[1] == pytest.approx(far[0], abs=1e-4 if beside else 0.6)
        assert (far[1] < 0.0) == (far[0] < 0.0)


def test_a_slab_is_at_least_as_thick_as_no_link_passes():
    (slabs, _, _), _ = square()
    forms, _ = in_cells(slabs, THICK)
    assert set(forms[:, 0]) == {SLAB}
    assert 2.0 * forms[:, 3] == pytest.approx(THINNEST)
    forms, _ = in_cells(slabs, THICK / 3.0)
    assert 2.0 * forms[:, 3] == pytest.approx(3.0)


@pytest.mark.parametrize("moves", [False, True])
def test_a_stiff_sheet_is_loaded_as_the_box_that_it_is(job, moves):
    """Held in a stream, and moved and turned in it: force and moment of one solid."""
    domain = lay_out(job, Settings(cells=8, across=3.0, ahead=1.5, behind=2.0)).domain
    x0, x1, y0, y1, z0, z1 = domain.window
    centre = np.array([0.5 * (x0 + x1), 0.5 * (y0 + y1) + 0.21, 0.5 * (z0 + z1) - 0.13])
    velocity = np.array([0.02, -0.01, 0.005]) if moves else np.zeros(3)
    spin = np.array([0.002, 0.004, -0.003]) if moves else np.zeros(3)
    found = []
    for pieces, middle, axes in square():
        flow = ProcessorFlow(domain, *in_cells(pieces, SIDE / 8.0))
        total = np.zeros((40, 6))
        for row in range(len(total)):
            poses = posed(middle, axes, SIDE / 8.0, centre, velocity, spin)
            loads = flow.advance(poses)
            arm = poses[0, :, :3] - centre
            total[row, :3] = loads[:, :3].sum(axis=0)
            total[row, 3:] = (loads[:, 3:] + np.cross(arm, loads[:, :3])).sum(axis=0)
        found.append(total[20:].mean(axis=0))
    many, one = found
    assert np.abs(one).max() > 0.01
    assert many == pytest.approx(one, abs=0.005 * np.abs(one).max())


def answered(sheet, before, after, step):
    """Return the loads on the slabs (E, 6) of water that answers by its added mass alone."""
    state = 0.5 * (before.motion[0] + after.motion[0])
    change = (after.motion[1] - before.motion[1]) / step
    flow = sheet.flow
    normal = np.einsum("ea,eai->ei", flow.inset, state[flow.quads, 3:])
    across = np.einsum("ea,eai,ei->e", flow.inset, change[flow.quads, :3], normal)
    pushed = -(flow.added @ across)[:, None] * normal
    return np.hstack([pushed, np.zeros_like(pushed)])


@pytest.mark.parametrize("memory", [0, 8, 16])
def test_a_sheet_rings_as_in_water_where_the_flow_answers_a_step_late(job, memory):
    """Five times as much water as sheet: a plain exchange would blow up at once."""
    strip, water, values = flap_parts()
    model = build_plate(Specimen(strip, water, values, gravity=False, elements=ELEMENTS))
    modes = plate_modes(model, model.plate, MODULUS, model.state, 1)
    expected, shape = modes.frequency[0], modes.shape[:, 0].reshape(-1, 6)
    sheet, step, tip = job.sheet, 1.0 / modes.frequency[0] / 200.0, []
    held = start_sheet(sheet, max(memory, 1))
    held.motion[1] = 0.002 * shape / np.abs(shape[:, 1]).max()
    for _ in range(500):
        before = held
        held = step_sheet(sheet, held, step)
        if memory:
            given = answered(sheet, before, held, step)
            held = remember_sheet(sheet, before, held, job.pieces, given, step)
        tip.append(held.motion[0][sheet.marks[-1, 0], 1])
    found = 1.0 / cycles(step * np.arange(len(tip)), np.array(tip)).period.mean()
    assert found == pytest.approx(expected, rel=0.01)


def test_a_light_sheet_takes_longer_steps(job):
    light = lightness_of_sheet(job.sheet)
    strip = 1030.0 * 0.0015 / (1000.0 * 0.25 * np.pi * 0.014)  # far from its ends
    assert 1.2 * strip < light < 1.8 * strip  # the flap's ends are near
    assert light < LIGHT
    assert suited(Settings(), job).stride > Settings().stride


def test_the_middle_of_the_tip_is_found_from_the_slabs(job):
    held = warped(job)
    held.motion[0] = job.sheet.state
    places = ride_sheet(job.sheet, held, job.pieces)
    path = tip_path(job.sheet, job.pieces, places.centre[None], places.axes[None])
    node = job.sheet.marks[-1, 0]
    assert path[0] == pytest.approx(job.sheet.root + job.sheet.state[node, :3], abs=1e-12)


def test_a_job_with_a_sheet_travels_through_its_file(job, tmp_path):
    with h5py.File(tmp_path / "job.h5", "w") as file:
        write_tuple(file.create_group("job"), job)
        back = read_tuple(file["job"])
    assert np.array_equal(back.sheet.plate.bend, job.sheet.plate.bend)
    assert np.array_equal(back.sheet.flow.added, job.sheet.flow.added)
    assert back.sheet.plate.quads.dtype == np.int64
    assert back.sheet.modulus == job.sheet.modulus
    assert back.rod is None
