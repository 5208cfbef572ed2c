"""From a checked case to strips with bands and to the arrays of the kernels."""

import math
from dataclasses import replace

import numpy as np
import pytest
from physics import case_of, close, strip_part

from simsoft.bodies.rod.modes import natural_modes
from simsoft.case.model import LoadsInput, MaterialInput, PaddleInput, Taper, Tolerance
from simsoft.lure.parts import (
    GRAVITY,
    SET_FRACTION,
    THICKNESS_SCATTER,
    Specimen,
    assemble,
    damping_time,
    strip_modulus,
    values_of,
)
from simsoft.lure.rod_model import build_rod, with_material, without_fluid_load

DISC = PaddleInput("disc", 0.015, 0.015, 0.003, math.radians(88.0), 0.001)


def tail(**changes):
    fields = {"kind": "paddle-tail", "paddle": DISC, "loads": LoadsInput()} | changes
    return strip_part(**fields)


def strip_of(part, **case):
    lure = assemble(case_of(part, **case))
    assert len(lure.strips) == 1
    return lure.strips[0], lure.water


def rod_of(part, *, elements=8, gravity=True, air=False, values=None, **case):
    strip, water = strip_of(part, **case)
    chosen = values_of(strip, **(values or {}))
    return build_rod(Specimen(strip, water, chosen, gravity=gravity, elements=elements, air=air))


# --- inputs and bands ------------------------------------------------------------------------


def test_every_uncertain_input_has_an_ordered_band_with_a_basis():
    strip, _ = strip_of(tail(set_angle=1.0), loss_factor=None)
    for name, band in strip.inputs.items():
        assert band.low <= band.value <= band.high, name
        assert band.basis, name
    assert {"modulus", "thickness", "density", "loss_factor", "set_fraction"} < set(strip.inputs)
    assert {"normal_drag", "rim_force", "force_growth", "munk"} < set(strip.inputs)


def test_a_set_is_an_input_only_where_there_is_one():
    assert "set_fraction" not in strip_of(strip_part())[0].inputs
    assert strip_of(strip_part(set_angle=1.0))[0].inputs["set_fraction"] == SET_FRACTION
    stated = strip_of(strip_part(set_angle=1.0, set_fraction=0.3))[0].inputs["set_fraction"]
    assert (stated.low, stated.value, stated.high) == (0.3, 0.3, 0.3)


def test_a_damping_time_stands_in_place_of_the_loss_factor():
    strip, _ = strip_of(strip_part(), loss_factor=None, kelvin_voigt_time=2e-3)
    assert "loss_factor" not in strip.inputs
    assert damping_time(strip, values_of(strip), 7.0) == 2e-3


def test_thickness_scatter_is_the_stated_or_the_usual_one_and_leaves_half_the_part():
    case = case_of(strip_part())
    band = assemble(case).strips[0].inputs["thickness"]
    assert (band.low, band.value, band.high) == (-THICKNESS_SCATTER, 0.0, THICKNESS_SCATTER)
    loose = replace(case, tolerance=Tolerance(thickness=0.9e-3))
    band = assemble(loose).strips[0].inputs["thickness"]
    assert (band.low, band.high) == (-0.5e-3, 0.9e-3)


def test_values_are_the_central_ones_unless_replaced():
    strip, _ = strip_of(strip_part())
    plain, moved = values_of(strip), values_of(strip, density=1.0)
    assert plain["density"] == 1080.0
    assert moved == plain | {"density": 1.0}


def test_loss_factor_is_met_at_the_frequency_of_the_motion():
    strip, _ = strip_of(strip_part(), loss_factor=0.16)
    tau = damping_time(strip, values_of(strip), 5.0)
    assert 2.0 * math.pi * 5.0 * tau == close(0.16)
    slowest = damping_time(strip, values_of(strip), 0.0)
    assert slowest == damping_time(strip, values_of(strip), 0.1)


def soft_case():
    """Return a case whose modulus comes from a durometer and stiffens with rate."""
    stated = MaterialInput(hardness_scale="OO", hardness=50.0, rate_exponent=0.1)
    return replace(case_of(strip_part()), material=stated)


def test_modulus_from_a_durometer_stiffens_with_the_power_of_the_rate():
    strip = assemble(soft_case()).strips[0]
    values = values_of(strip)
    slow, fast = (strip_modulus(strip, values, f) for f in (1.0, 10.0))
    assert fast / slow == close(10.0**0.1, rel=1e-6)
    assert strip_modulus(strip, values, 0.0) == values["modulus"]


def test_a_modulus_given_directly_is_taken_as_it_is():
    strip, _ = strip_of(strip_part(), modulus=123e3)
    assert strip_modulus(strip, values_of(strip), 20.0) == close(123e3)


# --- what each input changes -----------------------------------------------------------------

# fields of the rod that may differ when one input is moved
CHANGES = {
    "modulus": set(),
    "loss_factor": set(),
    "density": {"structure", "weight", "root_weight", "paddle.weight"},
    "thickness": {
        "stiffness",
        "structure",
        "fluid",
        "added",
        "drag",
        "weight",
        "root_drag",
        "root_weight",
    },
    "normal_drag": {"drag", "root_drag"},
    "skin_friction": {"drag", "root_drag", "paddle.friction"},
    "paddle_normal_force": {"paddle.normal_force"},
    "centre_of_pressure": {"paddle.centre_of_pressure"},
    "rotary_damping": {"paddle.rotary_damping"},
    "munk": {"paddle.munk"},
    "rim_force": {"paddle.rim_force"},
    "rim_rate": {"paddle.rim_rate"},
    "rim_damping": {"paddle.rim_damping"},
    "rim_inertia": {"fluid"},
    "force_growth": {"paddle.force_growth"},
}


def differing(one, other):
    """Return the names of the fields of two rods that differ, the paddle's with a prefix."""
    result = set()
    for name, a, b in zip(one._fields, one, other, strict=True):
        if name == "paddle":
            result |= {f"paddle.{f}" for f in a._fields if not np.array_equal(*pair(a, b, f))}
        elif not np.array_equal(a, b):
            result.add(name)
    return result


def pair(one, other, name):
    return getattr(one, name), getattr(other, name)


def test_every_input_is_listed_here():
    strip, _ = strip_of(tail())
    assert set(strip.inputs) == set(CHANGES)


@pytest.mark.parametrize("name", CHANGES)
def test_moving_an_input_changes_what_it_should_and_nothing_else(name):
    strip, water = strip_of(tail(), loss_factor=0.1)
    bands = strip.inputs
    steps = {"thickness": 2e-4}
    step = steps.get(name, 0.1 * bands[name].value)
    moved = values_of(strip, **{name: bands[name].value + step})
    rods = [build_rod(Specimen(strip, water, v, gravity=True)) for v in (values_of(strip), moved)]
    assert differing(*rods) == CHANGES[name]


def test_thickness_shift_goes_with_the_cube_in_stiffness_and_linearly_in_mass():
    plain, thick = (rod_of(strip_part(), values={"thickness": s}) for s in (0.0, 2e-4))
    assert thick.stiffness[:, 1] == close(1.2**3 * plain.stiffness[:, 1])
    assert thick.stiffness[:, 0] == close(1.2 * plain.stiffness[:, 0])
    assert thick.structure[:, 3, 3] == close(1.2 * plain.structure[:, 3, 3])
    assert thick.weight == close(1.2 * plain.weight)
    assert thick.added[:, 0] == close(plain.added[:, 0])


def test_unit_modulus_stiffness_is_the_section_over_the_element():
    rod = rod_of(strip_part(), elements=5)
    b, h, step = 0.01, 0.001, 0.01
    soft, stiff = b * h**3 / 12.0, h * b**3 / 12.0
    torsion = 0.31233 * b * h**3 / (2.0 * 1.49)  # b/h = 10, Timoshenko & Goodier, art. 109
    for row in rod.stiffness:
        assert row == close(np.array([stiff, soft, torsion]) / step, rel=2e-5)
    made = with_material(rod, 2e5, 3e-3)
    assert made.stiffness == close(2e5 * rod.stiffness)
    assert made.kelvin_voigt == 3e-3


def test_masses_and_weights_add_up_to_those_of_the_part():
    """All but the half element at the clamp, which does not move."""
    rod = rod_of(strip_part(tip_mass=2e-4), elements=10)
    share = 0.95
    volume = 0.05 * 0.01 * 0.001 * share
    assert rod.structure[:, 3, 3].sum() == close(1080.0 * volume + 2e-4)
    assert rod.weight.sum(axis=0) == close(
        [0.0, 0.0, -((1080.0 - 1000.0) * volume + 2e-4) * GRAVITY]
    )
    assert rod.fluid[:, 3, 3].sum() == close(1000.0 * 0.25 * math.pi * 1e-4 * 0.05 * share)


def test_gravity_air_and_switches():
    part = tail()
    assert np.all(rod_of(part, gravity=False).weight == 0.0)
    assert np.all(rod_of(part, gravity=False).paddle.weight == 0.0)
    dry = rod_of(part, air=True)
    assert np.all(dry.fluid == 0.0)
    assert np.all(dry.drag == 0.0)
    assert np.all(dry.added == 0.0)
    assert dry.paddle.normal_force == 0.0
    empty = rod_of(tail(loads=LoadsInput(added_mass=False)))
    assert np.all(empty.fluid == 0.0)
    assert empty.drag == close(rod_of(part).drag)
    assert rod_of(tail(loads=LoadsInput(reactive=False))).reactive == 0.0
    assert rod_of(part).reactive == 1.0
    assert rod_of(part).paddle.rim_force > 0.0
    stated = rod_of(tail(loads=LoadsInput(rim_force=1.0))).paddle.rim_force
    assert rod_of(tail(loads=LoadsInput(rim_force=2.0))).paddle.rim_force == close(2.0 * stated)
    quiet = rod_of(tail(loads=LoadsInput(shedding=False))).paddle
    assert (quiet.rim_force, quiet.force_growth) == (0.0, 0.0)


def test_still_water_rod_keeps_its_inertia_and_loses_its_loads():
    rod = rod_of(tail())
    calm = without_fluid_load(rod)
    assert differing(rod, calm) == {
        "reactive",
        "drag",
        "paddle.normal_force",
        "paddle.rotary_damping",
        "paddle.friction",
        "paddle.rim_drag",
        "paddle.rim_force",
        "paddle.force_growth",
    }


def test_stated_line_weight_replaces_weight_less_buoyancy():
    rod = rod_of(strip_part(line_weight=0.3), elements=4)
    assert rod.weight[:, 2] == close(-0.3 * rod.span)


def test_end_loads_reach_the_kernels():
    part = strip_part(
        tip_force=(0.1, 0.2, 0.3), follower_force=(1.0, 2.0, 3.0), tip_moment=(4.0, 5.0, 6.0)
    )
    rod = rod_of(part, gravity=False)
    assert rod.weight[-1] == close([0.1, 0.2, 0.3])
    assert np.all(rod.weight[:-1] == 0.0)
    assert rod.follower == close([1.0, 2.0, 3.0])
    assert rod.tip_moment == close([4.0, 5.0, 6.0])


def test_clamp_frame_has_the_stated_directions_and_is_right_handed():
    part = strip_part(direction=(0.0, 0.6, 0.8), width_axis=(1.0, 0.0, 0.0), position=(1, 2, 3))
    rod = rod_of(part)
    assert rod.frame[:, 2] == close([0.0, 0.6, 0.8])
    assert rod.frame[:, 1] == close([1.0, 0.0, 0.0])
    assert np.linalg.det(rod.frame) == close(1.0)
    assert rod.root == close([1.0, 2.0, 3.0])


def test_added_mass_grows_only_where_the_width_does():
    rod = rod_of(strip_part(width=Taper((0.0, 0.5, 1.0), (0.004, 0.01, 0.004))), elements=20)
    slope = 1000.0 * 0.5 * math.pi * np.array([0.0, *np.linspace(0.004, 0.01, 11)[1:]])
    # d(pi/4 b^2)/ds = pi/2 b b', with b' = 6 mm in 25 mm
    assert rod.added_gain[4, 0] == close(slope[5] * 0.24, rel=1e-6)
    assert np.all(rod.added_gain[11:, 0] == 0.0)
    assert np.all(rod.added_gain >= 0.0)


def test_drag_row_is_the_strip_theory_of_the_section():
    loads = LoadsInput(normal_drag=2.0, skin_friction=0.01, finite_span=False)
    rod = rod_of(strip_part(loads=loads))
    b, h = 0.01, 0.001
    expected = np.array([2.0 * b, 2.0 * h, 0.01 * 2.0 * b, 2.0 * b**4 / 32.0]) * 500.0
    assert rod.drag[3] == close(expected)


# --- kinds of parts --------------------------------------------------------------------------


def test_fork_tail_is_two_mirrored_lobes():
    part = strip_part(kind="fork-tail", fork_angle=math.radians(25.0), name="tail")
    lure = assemble(case_of(part))
    assert [s.name for s in lure.strips] == ["tail/upper", "tail/lower"]
    upper, lower = (
        build_rod(Specimen(s, lure.water, values_of(s), gravity=False, elements=6))
        for s in lure.strips
    )
    mirror = np.diag([1.0, 1.0, -1.0])  # the lobes spread along the width axis, z
    assert upper.frame[:, 2] == close(
        [math.cos(math.radians(25.0)), 0.0, math.sin(math.radians(25.0))]
    )
    assert mirror @ upper.frame[:, 2] == close(lower.frame[:, 2])
    assert mirror @ upper.frame[:, 1] == close(-lower.frame[:, 1])
    assert mirror @ upper.frame[:, 0] == close(lower.frame[:, 0])
    assert differing(upper, lower) == {"frame"}


def test_leg_is_round_and_swells_all_round():
    taper = Taper((0.0, 1.0), (0.002, 0.002))
    part = strip_part(kind="leg", section="ellipse", width=taper, thickness=taper)
    rod = rod_of(part, elements=5)
    moment = math.pi * 0.002**4 / 64.0 / 0.01
    assert rod.stiffness[0, :2] == close([moment, moment])
    assert rod.stiffness[0, 2] == close(2.0 * moment / (2.0 * 1.49))
    assert rod.added[0, 2] == 0.0
    assert rod.added[0, 0] == rod.added[0, 1]
    assert rod.drag[0, 0] == rod.drag[0, 1]
    thick = rod_of(part, elements=5, values={"thickness": 2e-4})
    assert thick.stiffness == close(1.1**4 * rod.stiffness)


def test_curl_tail_carries_its_moulded_arc_and_the_kept_part_of_its_set():
    part = strip_part(kind="curl-tail", arc_angle=2.0, set_angle=-1.0, set_fraction=0.2)
    rod = rod_of(part, elements=10)
    assert rod.natural.sum(axis=0) == close([0.0, 2.0 - 0.2, 0.0])


# --- finite width ----------------------------------------------------------------------------

# First-mode wet over dry frequency of cantilever plates, length over width and thickness over
# width; thin-plate Ritz with boundary elements for the water, recomputed. Steel plates are the
# matrix of Lindholm, Kana, Chu & Abramson 1965, J. Ship Res. 9:11.
STEEL = {
    (0.5, 0.0238): 0.6729,
    (1.0, 0.0238): 0.5849,
    (2.0, 0.0238): 0.5218,
    (3.0, 0.0238): 0.4965,
    (5.0, 0.0238): 0.4744,
    (1.0, 0.124): 0.8548,
    (3.0, 0.124): 0.794,
}
ELASTOMER = {
    (1.0, 0.05): 0.3644,
    (2.0, 0.05): 0.3154,
    (3.0, 0.05): 0.2967,
    (5.0, 0.1): 0.3824,
    (10.0, 0.05): 0.2684,
    (10.0, 0.1): 0.3667,
}


def wet_over_dry(slenderness, relative_thickness, density, finite_span):
    width, thickness = 0.05 / slenderness, 0.05 / slenderness * relative_thickness
    part = strip_part(
        width=Taper((0.0, 1.0), (width, width)),
        thickness=Taper((0.0, 1.0), (thickness, thickness)),
        loads=LoadsInput(finite_span=finite_span),
    )
    first = []
    for air in (False, True):
        rod = with_material(
            rod_of(part, gravity=False, air=air, elements=20, density=density), 1e6, 0.0
        )
        # rotary inertia and twist stay out of a first mode in thin-plate theory
        modes = natural_modes(rod, rod.natural, 6)
        first.append(modes.frequency[modes.kind.index("soft bending")])
    return first[0] / first[1]


@pytest.mark.parametrize("plate", STEEL)
def test_finite_span_factor_on_steel_plates(plate):
    assert wet_over_dry(*plate, 7850.0, True) == close(STEEL[plate], rel=0.025)


@pytest.mark.parametrize("plate", ELASTOMER)
def test_finite_span_factor_on_elastomer_plates(plate):
    assert wet_over_dry(*plate, 1100.0, True) == close(ELASTOMER[plate], rel=0.025)


def test_strip_theory_alone_is_a_quarter_low_on_a_square_plate():
    error = wet_over_dry(1.0, 0.0238, 7850.0, False) / STEEL[1.0, 0.0238] - 1.0
    assert error == pytest.approx(-0.255, abs=0.01)


def test_a_part_may_be_poured_lighter_than_the_rest():
    light = replace(strip_part(), name="light", density=930.0)
    strips = assemble(case_of(strip_part(), light, density=1050.0)).strips
    assert [strip.inputs["density"].value for strip in strips] == [1050.0, 930.0]
    assert strips[1].inputs["density"].low < 930.0 < strips[1].inputs["density"].high
