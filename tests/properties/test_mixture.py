"""Density recipes and weights against worked tables of the trade."""

from __future__ import annotations

import math

import pytest

from simsoft.case.model import BodyInput, MaterialInput, Taper, Tolerance
from simsoft.properties.material import body_density, material_density
from simsoft.properties.mixture import METAL_DENSITY, filled_density, mixture_density

# Densities [kg/m^3] of the ingredients, from memory.
RESIN, PLASTICISER, SOFTENER, GLITTER = 1400.0, 984.0, 927.0, 1390.0
OUNCE = 0.028349523125  # [kg], exact by definition
EVEN = Taper((0.0, 1.0), (0.01, 0.01))
GEL = MaterialInput(hardness_scale="OO", hardness=50.0)


def body(**changes: float | None) -> BodyInput:
    return BodyInput("stick-worm", 0.1, EVEN, EVEN, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("shares", "expected"),
    [
        (((0.08, RESIN), (0.30, SOFTENER), (0.62, PLASTICISER)), 989.0),
        (((0.10, RESIN), (0.90, PLASTICISER)), 1014.0),
        (((0.12, RESIN), (0.88, PLASTICISER)), 1020.0),
        (((0.20, RESIN), (0.80, PLASTICISER)), 1046.0),
        (((0.01, GLITTER), (0.99, 1020.0)), 1023.0),
    ],
)
def test_recipes_of_plain_compounds(shares: tuple[tuple[float, float], ...], expected: float):
    assert mixture_density(*shares) == pytest.approx(expected, rel=5e-3)


@pytest.mark.parametrize(
    ("salt", "expected"),
    [(0.05, 1048.0), (0.10, 1077.0), (0.20, 1141.0), (0.30, 1212.0), (0.40, 1294.0)],
)
def test_salted_recipes(salt: float, expected: float):
    assert filled_density(1020.0, salt=salt) == pytest.approx(expected, rel=5e-3)


@pytest.mark.parametrize(
    ("hollow", "share", "expected"),
    [
        (200.0, 0.005, 1000.0),
        (200.0, 0.01, 980.0),
        (200.0, 0.02, 943.0),
        (200.0, 0.03, 908.0),
        (125.0, 0.01, 952.0),
        (125.0, 0.02, 892.0),
        (350.0, 0.01, 1001.0),
        (350.0, 0.03, 965.0),
    ],
)
def test_floating_recipes(hollow: float, share: float, expected: float):
    found = filled_density(1020.0, microballoon=share, microballoon_density=hollow)
    assert found == pytest.approx(expected, rel=5e-3)


def test_air_takes_its_volume_off_and_nothing_changes_nothing():
    assert filled_density(1020.0, air=0.02) == pytest.approx(1020.0 * 0.98)
    assert filled_density(1033.0) == pytest.approx(1033.0)


@pytest.mark.parametrize("fractions", [(0.5, 0.4), (1.2, -0.2)])
def test_fractions_that_are_no_whole_are_refused(fractions: tuple[float, float]):
    with pytest.raises(ValueError, match="must not be negative and add up to 1"):
        mixture_density(*((fraction, 1000.0) for fraction in fractions))


@pytest.mark.parametrize(
    ("ounces", "tungsten", "lead", "bismuth", "steel"),
    [
        (1 / 32, 4.6, 5.4, 5.6, 6.0),
        (1 / 16, 5.8, 6.8, 7.0, 7.6),
        (3 / 32, 6.6, 7.7, 8.0, 8.6),
        (1 / 8, 7.3, 8.5, 8.8, 9.5),
        (3 / 16, 8.3, 9.7, 10.1, 10.9),
        (1 / 4, 9.2, 10.7, 11.1, 12.0),
        (3 / 8, 10.5, 12.3, 12.8, 13.7),
        (1 / 2, 11.6, 13.5, 14.0, 15.1),
        (3 / 4, 13.2, 15.5, 16.1, 17.3),
        (1, 14.6, 17.0, 17.7, 19.0),
    ],
)
def test_spheres_of_a_weight(
    ounces: float, tungsten: float, lead: float, bismuth: float, steel: float
):
    """Diameters [mm], worked by hand from the densities and rounded to a tenth."""
    expected = {"tungsten": tungsten, "lead": lead, "bismuth": bismuth, "steel": steel}
    for metal, diameter in expected.items():
        volume = ounces * OUNCE / METAL_DENSITY[metal]
        assert 1e3 * math.cbrt(6.0 * volume / math.pi) == pytest.approx(diameter, abs=0.0501)


def test_a_body_is_poured_from_the_material_with_its_own_fillers():
    plain = material_density(GEL, Tolerance())
    unfilled = body_density(body(), GEL, Tolerance())
    assert (unfilled.low, unfilled.high) == pytest.approx((plain.low, plain.high))
    assert unfilled.basis == plain.basis
    salted = body_density(body(salt_fraction=0.2), GEL, Tolerance())
    assert salted.value == pytest.approx(1141.0, rel=5e-3)
    assert plain.low < plain.value < salted.low < salted.value < salted.high
    assert salted.basis.endswith("with 0.2 of salt by the mixture rule")
    floating = body_density(body(microballoon_fraction=0.02, air_fraction=0.01), GEL, Tolerance())
    assert floating.value == pytest.approx(943.0 * 0.99, rel=5e-3)
    assert "0.02 of microballoons, 0.01 of air by volume" in floating.basis


def test_a_weighed_body_needs_no_recipe():
    band = body_density(body(density=1190.0, salt_fraction=0.2), GEL, Tolerance())
    assert (band.value, band.high - band.value) == (1190.0, pytest.approx(0.003 * 1190.0))
    assert band.basis.startswith("stated density")
