"""Natural frequencies against closed forms, with the observed order of accuracy."""

import math

import numpy as np
import pytest
from physics import bare_rod, case_of, observed_order, placed, strip_part

from simsoft.bodies.rod.modes import natural_modes
from simsoft.case.model import Taper
from simsoft.lure.parts import GRAVITY, Specimen, assemble, values_of
from simsoft.lure.rod_model import build_rod, with_material

# Blevins 1979, Formulas for Natural Frequency and Mode Shape, table 8-1.
UNIFORM = np.array([1.8751041, 4.6940911, 7.8547574])
# Tip mass over rod mass -> lambda_1, recomputed (problem of Blevins 1979, table 8-8).
TIP_MASS = {0.1: 1.72274, 0.5: 1.41996, 1.0: 1.24792, 5.0: 0.870021}
# Tip over root dimension -> omega L^2 sqrt(rho A0/EI0), recomputed; Kirchhoff 1882 and Mabie &
# Rogers 1972, J. Acoust. Soc. Am. 51:1771, give the sharp limits of the same family.
DEPTH_TAPER = {
    0.8: (3.60827, 20.621, 56.1923),
    0.5: (3.82378, 18.3173, 47.2648),
    0.2: (4.29249, 15.7427, 36.8846),
}
WIDTH_TAPER = {0.5: (4.31517, 23.5193, 63.1992), 0.2: (5.39759, 25.6558, 65.747)}
BOTH_TAPER = {0.5: (4.62515, 19.5476, 48.5789), 0.2: (6.19639, 18.3855, 39.8336)}


def rod_of(part, *, elements, air=True, **material):
    """Return the rod of a part with its modulus, gravity off."""
    lure = assemble(case_of(part, **material))
    strip = lure.strips[0]
    values = values_of(strip)
    bare = build_rod(Specimen(strip, lure.water, values, gravity=False, elements=elements, air=air))
    return with_material(bare, values["modulus"], 0.0)


def thin(**changes):
    """Return a slender thin strip whose rotary inertia and width do not show."""
    return strip_part(
        length=0.1,
        **{
            "width": Taper((0.0, 1.0), (0.005, 0.005)),
            "thickness": Taper((0.0, 1.0), (0.0005, 0.0005)),
        }
        | changes,
    )


def soft_frequencies(rod, count):
    """Return the lowest ``count`` angular frequencies of soft bending."""
    modes = natural_modes(rod, rod.natural, 3 * count)
    soft = [f for f, kind in zip(modes.frequency, modes.kind, strict=True) if "soft" in kind]
    return 2.0 * math.pi * np.array(soft[:count])


def scaled(part, elements, count=3):
    """Return omega L^2 sqrt(rho A0/EI0) of the soft bending modes in air."""
    h = part.thickness.values[0]
    unit = math.sqrt(300e3 / 1080.0 * h**2 / 12.0) / part.length**2
    return soft_frequencies(rod_of(part, elements=elements), count) / unit


def test_uniform_cantilever():
    assert scaled(thin(), 60) == pytest.approx(UNIFORM**2, rel=2e-3)


@pytest.mark.parametrize("mode", [0, 1, 2])
def test_frequencies_converge_with_the_square_of_the_element_length(mode):
    sizes = np.array([12, 18, 27, 40])
    errors = []
    for n in sizes:
        rod = bare_rod((400.0, 1.0, 1.0), (1.0, 1e-7, 1e-7), (0.0, 0.0, 0.0), elements=int(n))
        errors.append(soft_frequencies(rod, 3)[mode] - UNIFORM[mode] ** 2)
    assert observed_order(1.0 / sizes, errors) == pytest.approx(2.0, abs=0.15)


@pytest.mark.parametrize("ratio", TIP_MASS)
def test_tip_mass(ratio):
    part = thin(tip_mass=ratio * 1080.0 * 0.005 * 0.0005 * 0.1)
    assert scaled(part, 40, 1)[0] == pytest.approx(TIP_MASS[ratio] ** 2, rel=2e-3)


def tapered(*, width=1.0, depth=1.0):
    return thin(
        width=Taper((0.0, 1.0), (0.005, 0.005 * width)),
        thickness=Taper((0.0, 1.0), (0.0005, 0.0005 * depth)),
    )


@pytest.mark.parametrize("ratio", DEPTH_TAPER)
def test_wedge(ratio):
    assert scaled(tapered(depth=ratio), 80) == pytest.approx(DEPTH_TAPER[ratio], rel=5e-3)


@pytest.mark.parametrize("ratio", WIDTH_TAPER)
def test_width_taper(ratio):
    assert scaled(tapered(width=ratio), 80) == pytest.approx(WIDTH_TAPER[ratio], rel=5e-3)


@pytest.mark.parametrize("ratio", BOTH_TAPER)
def test_pyramid(ratio):
    part = tapered(width=ratio, depth=ratio)
    assert scaled(part, 80) == pytest.approx(BOTH_TAPER[ratio], rel=5e-3)


def test_tapered_frequencies_are_second_order_too():
    sizes = np.array([12, 18, 27, 40])
    errors = [scaled(tapered(depth=0.5), int(n), 1)[0] - 3.82378 for n in sizes]
    assert observed_order(1.0 / sizes, errors) == pytest.approx(2.0, abs=0.2)


def test_wet_strip_has_the_strip_theory_frequencies():
    """50 x 10 x 1 mm, 300 kPa, 1080 kg/m^3: 0.3747 and 2.348 Hz by strip theory, recomputed.

    Boundary elements give 0.4234 Hz: strip theory is 11 % low at this width.
    """
    rod = rod_of(strip_part(), elements=60, air=False)
    found = soft_frequencies(rod, 2) / (2.0 * math.pi)
    assert found == pytest.approx([0.3747, 2.348], rel=1e-2)


def test_wet_over_dry_is_the_root_of_the_mass_ratio():
    dry, wet = (soft_frequencies(rod_of(strip_part(), elements=30, air=a), 1)[0] for a in (1, 0))
    carried = 0.25 * math.pi * 1000.0 * 0.01**2 / (1080.0 * 0.01 * 0.001)
    assert wet / dry == pytest.approx(1.0 / math.sqrt(1.0 + carried), rel=1e-3)


def test_twisting_of_a_bar_is_a_quarter_wave():
    """f = sqrt(GJ/I_p)/(4 L), and odd multiples of it."""
    torsional, polar, length = 2.0, 0.3, 1.7
    rod = bare_rod((5e4, 4e4, torsional), (1.0, 0.2, 0.1), (0, 0, 0), length=length, elements=60)
    modes = natural_modes(rod, rod.natural, 20)
    twist = [f for f, kind in zip(modes.frequency, modes.kind, strict=True) if kind == "twist"]
    quarter = math.sqrt(torsional / polar) / (4.0 * length)
    assert twist[:3] == pytest.approx([quarter, 3.0 * quarter, 5.0 * quarter], rel=3e-3)


def test_stiff_bending_is_a_cantilever_of_the_width():
    rod = bare_rod((7.0, 0.1, 90.0), (1.0, 1e-7, 1e-7), (0, 0, 0), elements=60)
    modes = natural_modes(rod, rod.natural, 12)
    stiff = [f for f, kind in zip(modes.frequency, modes.kind, strict=True) if "stiff" in kind]
    expected = UNIFORM[0] ** 2 * math.sqrt(7.0) / (2.0 * math.pi)
    assert stiff[0] == pytest.approx(expected, rel=2e-3)


def test_modes_are_mass_normalised_and_orthogonal():
    rod = rod_of(strip_part(), elements=12, air=False)
    modes = natural_modes(rod, rod.natural, 6)
    stored = np.einsum("ia,i,ib->ab", modes.shape, rod.stiffness.ravel(), modes.shape)
    square = (2.0 * math.pi * modes.frequency) ** 2
    assert stored == pytest.approx(np.diag(square), rel=1e-6, abs=1e-6 * square.max())


def hanging(sign, elements=40):
    """Return a strip clamped at its top (sign +1, hangs) or at its foot (-1, stands)."""
    part = strip_part(direction=(0.0, 0.0, -float(sign)), width_axis=(0.0, 1.0, 0.0))
    lure = assemble(case_of(part, density=2000.0))
    strip = lure.strips[0]
    values = values_of(strip)
    rod = build_rod(Specimen(strip, lure.water, values, gravity=True, elements=elements))
    return with_material(rod, values["modulus"], 0.0)


def test_weight_stiffens_a_hanging_strip_and_softens_a_standing_one():
    level = soft_frequencies(rod_of(strip_part(), elements=40, air=False, density=2000.0), 1)[0]
    assert soft_frequencies(hanging(1), 1)[0] > 1.02 * level
    assert soft_frequencies(hanging(-1), 1)[0] < 0.98 * level


@pytest.mark.parametrize(("share", "stands"), [(0.97, True), (1.03, False)])
def test_standing_strip_buckles_at_greenhills_load(share, stands):
    """q L^3/EI = 7.8373 (Greenhill 1881, from memory, recomputed); then frequency zero."""
    rod = hanging(-1)
    line = 1000.0 * GRAVITY * 0.01 * 0.001
    bending = rod.stiffness[0, 1] * rod.length[0]
    load = line * 0.05**3 / bending
    heavy = rod._replace(weight=rod.weight * share * 7.8373 / load)
    first = natural_modes(heavy, heavy.natural, 1).frequency[0]
    assert (first > 0.0) == stands


def test_frequencies_do_not_depend_on_the_clamp_direction():
    one = rod_of(strip_part(), elements=15)
    aside = strip_part(direction=(0.0, 0.6, 0.8), width_axis=(1.0, 0.0, 0.0))
    other = rod_of(aside, elements=15)
    first, second = (natural_modes(r, r.natural, 8).frequency for r in (one, other))
    assert first == pytest.approx(second, rel=1e-8)
    node, _ = placed(other, other.natural)
    assert node[-1] == pytest.approx([0.0, 0.03, 0.04], abs=1e-12)
