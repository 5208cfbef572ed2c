"""Plates on a free lure: against the rod, against their rest shapes, and in their books."""

import numpy as np
import pytest
from free_bodies import WORM, free, whole_of
from numpy.testing import assert_allclose

from simsoft.bodies.free.base_step import HELD, Line
from simsoft.bodies.free.course import in_lure_axes, march_once, placed_nodes, state_at_rest
from simsoft.bodies.free.equilibrium import trims
from simsoft.bodies.free.hang import bunch_leaves, frozen_leaves
from simsoft.bodies.free.step import make_ahead
from simsoft.bodies.free.stepper_with_plates import stiff_load_leafed
from simsoft.bodies.free.work import make_tree_work
from simsoft.bodies.plate.equilibrium import plate_branch
from simsoft.lure.assembly import mass_properties
from simsoft.lure.free_lure import is_plate, length_on, rows_of
from simsoft.lure.parts import GRAVITY
from simsoft.scenarios.free.clearance import placed_part
from simsoft.scenarios.free.fall import fall
from simsoft.scenarios.free.ride import FreeDetail, fold_back
from simsoft.scenarios.free.sink import sink
from simsoft.scenarios.free.tow import held_base
from simsoft.validate.studies.free_plates import CASE

pytestmark = pytest.mark.slow  # kernels of plates on a lure take a minute to compile

SINK = """\
[[scenarios]]
name = "drop"
kind = "sink"
duration = "1.2 s"
"""
ROD = CASE.format(model="rod", length=40, width=2) + SINK
LEG = CASE.format(model="plate", length=40, width=2) + "shedding = false\n" + SINK
PADDLE = (
    LEG[: LEG.index("[[parts]]")]
    + """\
[[parts]]
name = "tail"
kind = "paddle-tail"
model = "MODEL"
length = "11 mm"
width = "5 mm"
thickness = "3 mm"
paddle_diameter = "12 mm"
paddle_thickness = "4 mm"
position = ["54 mm", "0 mm", "0 mm"]
"""
)


def stiff_load(lure, up=(0.0, 0.0, 1.0)):
    """Return inertia and missing wrench of a lure at rest in its moulded shape."""
    from simsoft.bodies.free.frozen import frame_of
    from simsoft.bodies.free.time_march import STILL

    n = len(lure.tree.length)
    state = state_at_rest(lure, 0.0, lean=0.0)
    work, ahead = make_tree_work(len(lure.tree.carrier), n), make_ahead(n, state)
    frame_of(np.array(up), ahead.frame)
    bunch = bunch_leaves(frozen_leaves(lure, None))
    stiff_load_leafed(lure.tree, STILL, bunch, state, ahead, np.array(lure.tree.natural), work)
    return work


def lowered(lure, speed, *, time=1.5, step=1e-3):
    """Lower a lure, its base held from turning, brought to speed over half a second."""
    clock = step * np.arange(1.0, round(time / step) + 1.0)
    share = np.minimum(clock / 0.5, 1.0)
    leads = np.zeros((len(clock), 3, 3))
    leads[:, 0, 2] = -speed * np.where(share < 1.0, clock * share / 2.0, clock - 0.25)
    leads[:, 1, 2] = -speed * share
    leads[:, 2, 2] = np.where(share < 1.0, -speed / 0.5, 0.0)
    line = Line(HELD, np.zeros(3), 0.0, 1.0, 0.0, 0.0)
    return march_once(held_base(lure), line, leads, step, 10, state_at_rest(lure, 0.0, lean=0.0))


FIN = (
    LEG.replace(
        'width = "2 mm"',
        """\
outline = [["0 mm", "0 mm"], ["30 mm", "0 mm"], ["40 mm", "12 mm"], ["12 mm", "12 mm"]]
clamp = [["0 mm", "0 mm"], ["30 mm", "0 mm"]]""",
    )
    .replace('position = ["54 mm", "0 mm", "0 mm"]', 'position = ["15 mm", "0 mm", "6 mm"]')
    .replace("width_axis = [0, 1, 0]", "width_axis = [0, 0, 1]")
)


@pytest.mark.parametrize(
    "text",
    [LEG, FIN, WORM.replace('kind = "ribbon"', 'kind = "ribbon"\nmodel = "plate"')],
    ids=["on the body", "along its side", "on a soft length"],
)
def test_frozen_it_weighs_what_the_whole_weighs(text):
    """Net weight at rest and inertia along the lure against the sum of the pieces."""
    lure, found = free(text), mass_properties(whole_of(text))
    work = stiff_load(lure)
    net = (lure.mass - lure.displaced) * GRAVITY
    assert_allclose(work.whole[3:], [0.0, 0.0, net], rtol=2e-3, atol=1e-3 * abs(net))
    assert work.total[3, 3] == pytest.approx(found.mass + found.added_mass[3, 3], rel=0.02)
    assert_allclose(work.total, work.total.T, rtol=1e-9, atol=1e-12)


def test_a_fin_held_along_its_side_falls_with_its_lure():
    lure = free(FIN, elements=8)
    course = fall(lure, longest=1.2)
    held = lure.leaves[0].model.planform.clamped
    assert_allclose(course.plates[0][held], lure.leaves[0].model.state[held])
    assert np.abs(course.plates[0] - lure.leaves[0].model.state).max() > 1e-4
    assert abs(course.energy["residual"]) < 1e-3


def test_where_it_sits():
    lure = free(WORM.replace('kind = "ribbon"', 'kind = "ribbon"\nmodel = "plate"'), elements=6)
    rod = free(WORM, elements=6)
    assert lure.names == rod.names == ("body/back", "tail")
    assert is_plate(lure, "tail")
    assert not is_plate(lure, "body/back")
    assert lure.leaves[0].carrier >= 0
    assert length_on(lure, "tail") == pytest.approx(length_on(rod, "tail"))
    assert_allclose(
        placed_nodes(lure)[rows_of(lure, "tail").stop - 1], placed_nodes(rod)[-1], atol=1e-5
    )


def test_lowered_by_a_held_lure_it_comes_to_the_rest_shape_that_newton_finds():
    """March of the free lure against the plate's own rest shape in a stream of the same speed."""
    lure = free(LEG)
    leaf = lure.leaves[0]
    held = (leaf.model, leaf.model.plate, leaf.modulus)
    upward = np.array([0.0, 0.0, 1.0])
    rest = plate_branch(*held, 0.25 * np.arange(1, 5) / 4, upward, 0.0, leaf.model.state)[-1]
    course = lowered(lure, 0.25)
    assert rest.found
    assert_allclose(course.plates[0], rest.state, atol=2e-3)


def test_a_slender_one_falls_as_the_rod_does():
    plate, rod = free(LEG), free(ROD)
    found, wanted = fall(plate, longest=2.8), fall(rod, longest=2.8)
    assert found.sink_rate == pytest.approx(wanted.sink_rate, rel=0.005)
    assert found.final_attitude == pytest.approx(wanted.final_attitude, abs=0.005)
    folds = [
        fold_back(x, in_lure_axes(c)[-10:], "strip") for x, c in ((plate, found), (rod, wanted))
    ]
    assert folds[0] == pytest.approx(folds[1], rel=0.02)


def test_the_books_close_and_the_step_is_of_second_order():
    """What energy and momentum lack falls with the square of the step."""
    lacking = []
    for step in (4e-3, 2e-3):
        course = fall(free(LEG, elements=8), longest=0.8, step=step)
        assert course.step == step
        lacking.append(abs(course.energy["residual"]) + course.momentum_residual)
    assert lacking[0] < 1e-3
    assert lacking[1] < 0.4 * lacking[0]


def test_a_stiff_one_ends_in_a_steady_descent_of_the_frozen_lure():
    """The march against Newton's method on the balance of the lure frozen in its moulded shape."""
    lure = free(LEG.replace('durometer = "55 OO"', 'youngs_modulus = "2000 kPa"'), elements=8)
    found = fall(lure, longest=4.0)
    steady = [t for t in trims(lure, found.shape, found.plates) if t.stable]
    assert any(
        t.sink_rate == pytest.approx(found.sink_rate, rel=0.01)
        and t.attitude == pytest.approx(found.final_attitude, abs=0.03)
        for t in steady
    )


def test_mirrored_plates_do_mirrored_things():
    text = LEG.replace('name = "strip"', 'name = "strip"\nmirrored = true').replace(
        'position = ["54 mm", "0 mm", "0 mm"]', 'position = ["54 mm", "3 mm", "0 mm"]'
    )
    course = lowered(free(text, elements=8), 0.2, time=0.8)
    left, right = course.plates
    # mirrored plates have their meshes mirrored: nodes are matched by their places
    flipped = right[:, :3] * np.array([1.0, -1.0, 1.0])
    gaps = np.linalg.norm(left[:, None, :3] - flipped[None], axis=2).min(axis=1)
    assert gaps.max() < 1e-5


def test_a_thick_paddle_on_its_stem_falls_as_the_stiff_disc_does():
    plate = free(PADDLE.replace("MODEL", "plate"), elements=8)
    rod = free(PADDLE.replace("MODEL", "rod"), elements=8)
    assert plate.names == rod.names == ("tail",)
    assert len(plate.leaves) == 1
    found, wanted = fall(plate, longest=1.6), fall(rod, longest=1.6)
    assert found.sink_rate == pytest.approx(wanted.sink_rate, rel=0.02)
    assert found.final_attitude == pytest.approx(wanted.final_attitude, abs=0.05)
    assert abs(found.energy["residual"]) < 1e-2


def test_its_positions_for_the_hook_begin_at_the_clamp():
    lure = free(LEG, elements=6)
    course = fall(lure, longest=0.8)
    place = placed_part(lure, course, "strip", np.array([0, 5]))
    assert_allclose(place.centre[:, 0], [[0.054, 0.0, 0.0]] * 2, atol=1e-6)
    assert_allclose(np.linalg.norm(place.width_axis, axis=2), 1.0)


def test_a_sink_run_tells_of_the_plate():
    whole = whole_of(LEG)
    scenario = next(s for s in (whole_scenarios(LEG)) if s.kind == "sink")
    found = sink(whole, None, scenario, FreeDetail(elements=6, step_factor=2.0))
    assert found["strip"].answers["fold_back", (("during", "fall"),)].value > 5.0
    motion = found[""].motions[0]
    assert motion.first[-1] == motion.nodes.shape[1]


def whole_scenarios(text):
    """Return the scenarios of a case text."""
    from simsoft.case.read import loads

    return loads(text).scenarios
