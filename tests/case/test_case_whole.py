"""Body, rig and mirrored pairs: what a case says becomes what the model holds."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from case_texts import BODY, CLAW, RIG, STRIP

from simsoft.case.model import BodyInput, Case, HookInput, RigInput, Taper
from simsoft.case.read import loads
from simsoft.case.shapes.body import FAMILIES, profiles
from simsoft.case.shapes.hook import hook_path


def body_of(case: Case) -> BodyInput:
    assert case.body is not None
    return case.body


def rig_of(case: Case) -> RigInput:
    assert case.rig is not None
    return case.rig


def hook_of(case: Case) -> HookInput:
    hook = rig_of(case).hook
    assert hook is not None
    return hook


def test_a_body_alone_is_a_case() -> None:
    case = loads(BODY)
    assert (case.parts, case.scenarios, case.rig) == ((), (), None)
    body = body_of(case)
    assert body.length == pytest.approx(0.127)
    assert max(body.height.values) == pytest.approx(0.010)
    assert body.width == body.height
    assert body.density is None
    assert loads(STRIP).body is None


@pytest.mark.parametrize("family", FAMILIES)
def test_families_spread_the_largest_sizes(family: str) -> None:
    shares = FAMILIES[family]  # type: ignore[index]
    assert shares.at[0] == 0.0
    assert shares.at[-1] == 1.0
    assert all(low < high for low, high in pairwise(shares.at))
    assert max(shares.height) == max(shares.width) == 1.0
    assert min(shares.height + shares.width) > 0.0
    body = body_of(loads(BODY.replace("stick-worm", family)))
    assert max(body.height.values) == pytest.approx(0.010)
    assert max(body.width.values) == pytest.approx(0.010 * shares.width_share)


def test_stated_profiles_replace_those_of_the_family() -> None:
    table = Taper((0.0, 0.4, 1.0), (0.004, 0.012, 0.006))
    height, width = profiles("swim-bait", table, None)
    assert height == table
    assert max(width.values) == pytest.approx(0.75 * 0.012)
    height, width = profiles("swim-bait", 0.02, table)
    assert (max(height.values), width) == (0.02, table)
    text = BODY.replace('height = "10 mm"', 'height = ["10 mm", "4 mm"]')
    assert body_of(loads(text)).height == Taper((0.0, 1.0), (0.010, 0.004))


def test_a_slot_ends_where_it_is_said_to_or_at_six_tenths() -> None:
    body = body_of(loads(RIG))
    assert (body.slot_from, body.slot_to) == pytest.approx((0.012, 0.060))
    assert (body.rib_depth, body.rib_pitch) == pytest.approx((0.001, 0.004))
    body = body_of(loads(RIG.replace('slot_to = "60 mm"', "")))
    assert body.slot_to == pytest.approx(0.6 * 0.127)
    assert body_of(loads(BODY)).slot_to == 0.0


def test_weights_come_in_ounces_and_grams() -> None:
    (weight,) = rig_of(loads(RIG)).weights
    assert (weight.name, weight.kind, weight.material) == ("head", "jig-head", "lead")
    assert weight.mass == pytest.approx(7.087e-3, rel=1e-4)
    assert weight.position == pytest.approx((-0.005, 0.0, -0.002))
    grams = rig_of(loads(RIG.replace("1/4 oz", "7 g"))).weights[0].mass
    assert grams == pytest.approx(7e-3)


def test_a_hook_from_gap_and_shank() -> None:
    """Eye, step down, shank along x, half circle, point leg one gap above the shank."""
    gap, shank, offset = 0.012, 0.040, 0.004
    path = hook_path(gap, shank, eye=(0.002, 0.0, 0.001), offset=offset)
    assert hook_of(loads(RIG)).path == hook_path(gap, shank, offset=offset)
    assert path[0] == (0.002, 0.0, 0.001)
    assert max(x for x, _, _ in path) == pytest.approx(0.002 + shank + gap / 2)
    assert min(z for _, _, z in path) == pytest.approx(0.001 - offset)
    point, leg = path[-1], path[-2]
    assert point[2] == leg[2] == pytest.approx(0.001 - offset + gap)
    assert leg[0] - point[0] == pytest.approx(0.4 * shank)
    assert {y for _, y, _ in path} == {0.0}
    bend = [p for p in path if p[0] >= 0.002 + shank - 1e-12]
    arc = sum(math.dist(a, b) for a, b in pairwise(bend))
    assert arc == pytest.approx(math.pi * gap / 2, rel=3e-3)


def test_bend_and_point_of_a_hook_can_be_said() -> None:
    path = hook_path(0.010, 0.030, bend=0.008, point=0.012)
    assert max(x for x, _, _ in path) == pytest.approx(0.038)
    assert path[-1] == pytest.approx((0.018, 0.0, 0.010))
    assert path[:2] == ((0.0, 0.0, 0.0), (0.030, 0.0, 0.0))


def test_a_measured_path_is_taken_as_it_is() -> None:
    text = (
        BODY
        + """\
[rig.hook]
wire_diameter = "0.9 mm"
mass = "0.6 g"
path = [["0 mm", "0 mm", "0 mm"], ["30 mm", "1 mm", "0 mm"], ["28 mm", "0 mm", "0.4 in"]]
"""
    )
    hook = hook_of(loads(text))
    assert hook.mass == pytest.approx(0.6e-3)
    assert hook.path[1] == pytest.approx((0.030, 0.001, 0.0))
    assert hook.path[2] == pytest.approx((0.028, 0.0, 0.01016))


def test_parts_need_no_scenario_beside_a_body() -> None:
    still = '[[scenarios]]\nname = "still"\nkind = "hold"\n'
    body = BODY[BODY.index("[body]") :]
    case = loads(CLAW.replace(still, body))
    assert (len(case.parts), case.scenarios) == (1, ())


def test_a_pair_is_one_line() -> None:
    case = loads(CLAW + "mirrored = true\ndirection = [1, 0.3, 0]\n")
    assert case.parts[0].mirrored
    assert not loads(CLAW).parts[0].mirrored
    assert case.parts[0].handedness == 1.0


SINKS = """
[[scenarios]]
name = "drop"
kind = "sink"
"""


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (BODY + SINKS, (2.0, 0.0)),
        (RIG + SINKS, (2.0, 0.25e-3)),
        (RIG + SINKS + 'line = { diameter = "0 mm" }', (2.0, 0.0)),
        (RIG + SINKS + 'line = { length = "5 m", diameter = "0.3 mm" }', (5.0, 0.3e-3)),
    ],
)
def test_a_hooked_lure_that_falls_draws_line_along(
    text: str, expected: tuple[float, float]
) -> None:
    line = loads(text).scenarios[-1].line
    assert (line.length, line.diameter) == pytest.approx(expected)


TAIL = """\
[[parts]]
name = "tail"
kind = "paddle-tail"
length = "10 mm"
width = "5 mm"
thickness = "3 mm"
paddle_diameter = "14 mm"
paddle_thickness = "3 mm"
[[scenarios]]
name = "swim"
kind = "retrieve"
speed = ["0.5 m/s"]
"""


def test_a_tail_without_a_position_sits_on_the_end_of_the_body() -> None:
    assert loads(BODY + TAIL).parts[0].position == (pytest.approx(0.127), 0.0, 0.0)
    stated = TAIL.replace("length =", 'position = ["60 mm", "0 mm", "1 mm"]\nlength =', 1)
    assert loads(BODY + stated).parts[0].position == pytest.approx((0.06, 0.0, 0.001))


def test_swim_baits_bend_on_a_hook_and_others_where_they_are_told() -> None:
    shad = BODY.replace("stick-worm", "swim-bait")
    hook = '[rig.hook]\nwire_diameter = "1 mm"\ngap = "12 mm"\nshank = "40 mm"\n'
    assert not body_of(loads(shad)).flexible
    assert body_of(loads(shad + hook)).flexible
    assert body_of(loads(shad.replace("height", 'stiff_to = "50 mm"\nheight'))).flexible
    assert not body_of(loads(shad.replace("height", "flexible = false\nheight") + hook)).flexible
    assert not body_of(loads(BODY.replace("stick-worm", "grub") + hook)).flexible
