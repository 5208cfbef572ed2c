"""Hardness laws against published values; moduli, loss factor and density with their bands."""

from __future__ import annotations

import math

import pytest

from simsoft.case.model import MaterialInput, Tolerance
from simsoft.properties import material as m

ROOM = 295.15
OO50 = MaterialInput(hardness_scale="OO", hardness=50.0)
NO_SCATTER = Tolerance(hardness=0.0, modulus=0.0)


def test_durometer_springs_at_both_ends() -> None:
    """ASTM D2240: 0.203 to 1.111 N for type OO."""
    assert m.durometer_force_oo(0) == pytest.approx(0.203)
    assert m.durometer_force_oo(100) == pytest.approx(1.111)
    assert m.penetration(0) == pytest.approx(2.5e-3)
    assert m.penetration(100) == 0.0


@pytest.mark.parametrize(
    ("points", "megapascal"),
    [
        (10, 0.4127),
        (15, 0.5629),
        (20, 0.7319),
        (25, 0.9235),
        (30, 1.142),
        (35, 1.395),
        (40, 1.69),
        (45, 2.038),
        (50, 2.456),
        (60, 3.605),
        (70, 5.521),
        (80, 9.351),
    ],
)
def test_gent_modulus(points: float, megapascal: float) -> None:
    assert m.gent_modulus(points) / 1e6 == pytest.approx(megapascal, rel=1e-3)


@pytest.mark.parametrize(
    ("points", "hertz", "sneddon"),
    [
        (10, 44.89, 55.12),
        (20, 70.12, 84.09),
        (30, 105.9, 124.0),
        (35, 129.6, 150.1),
        (40, 158.9, 181.8),
        (45, 195.6, 221.2),
        (50, 242.4, 270.9),
        (60, 385.6, 421.1),
        (70, 665.8, 710.7),
        (80, 1355.0, 1415.0),
    ],
)
def test_type_oo_by_contact_mechanics(points: float, hertz: float, sneddon: float) -> None:
    assert m.hertz_modulus_oo(points) / 1e3 == pytest.approx(hertz, rel=1e-3)
    assert m.sneddon_modulus_oo(points) / 1e3 == pytest.approx(sneddon, rel=1e-3)


def test_sneddon_tends_to_hertz_for_shallow_contact() -> None:
    assert m.sneddon_modulus_oo(99.5) / m.hertz_modulus_oo(99.5) == pytest.approx(1.0, abs=5e-3)


@pytest.mark.parametrize(
    ("scale", "points", "static", "dynamic", "cold", "warm"),
    [
        ("OO", 30, 69, 102, 156, 88),
        ("OO", 50, 158, 233, 356, 201),
        ("OO", 70, 433, 640, 979, 551),
        ("A", 10, 268, 397, 607, 342),
        ("A", 20, 476, 704, 1077, 606),
    ],
)
def test_default_modulus_table(
    scale: str, points: float, static: float, dynamic: float, cold: float, warm: float
) -> None:
    """0.65 x formula x (5 Hz/0.1 Hz)^0.10 x exp(0.025 (22 - T)) at 22, 5 and 28 degC [kPa]."""
    stated = MaterialInput(hardness_scale=scale, hardness=points)  # type: ignore[arg-type]
    still = m.static_modulus(stated, Tolerance(), ROOM)
    assert still.value / 1e3 == pytest.approx(static, rel=5e-3)
    for celsius, expected in ((22, dynamic), (5, cold), (28, warm)):
        beating = m.dynamic_modulus(stated, Tolerance(), celsius + 273.15, 5.0)
        assert beating.value / 1e3 == pytest.approx(expected, rel=5e-3)


def test_durometer_band_combines_its_sources_in_quadrature() -> None:
    band = m.static_modulus(OO50, Tolerance(), ROOM)
    hardness = 0.5 * math.log(m.hertz_modulus_oo(53.0) / m.hertz_modulus_oo(47.0))
    expected = math.exp(math.hypot(hardness, math.log(1.4)))
    assert band.high / band.value == pytest.approx(expected)
    assert band.value / band.low == pytest.approx(expected)
    assert "quadrature" in band.basis
    assert "static factor x/: 1.40" in band.basis


def test_cold_and_beating_widen_the_band() -> None:
    still = m.static_modulus(OO50, Tolerance(), ROOM)
    cold = m.static_modulus(OO50, Tolerance(), 278.15)
    fast = m.dynamic_modulus(OO50, Tolerance(), 278.15, 5.0)
    assert still.high / still.value < cold.high / cold.value < fast.high / fast.value
    both = math.hypot(0.015 * 17.0, 0.04 * math.log(50.0))
    extra = math.log(fast.high / fast.value) ** 2 - math.log(still.high / still.value) ** 2
    assert math.sqrt(extra) == pytest.approx(both)


def test_dynamic_is_static_at_the_dwell() -> None:
    static = m.static_modulus(OO50, Tolerance(), ROOM)
    assert m.dynamic_modulus(OO50, Tolerance(), ROOM, 0.1) == static


def test_stated_corrections_replace_defaults_and_their_scatter() -> None:
    stated = MaterialInput(
        hardness_scale="OO",
        hardness=50.0,
        static_factor=1.0,
        rate_exponent=0.0,
        temperature_slope=0.0,
    )
    band = m.dynamic_modulus(stated, NO_SCATTER, 275.0, 8.0)
    assert band.low == pytest.approx(band.high)
    assert band.value == pytest.approx(m.hertz_modulus_oo(50.0))
    assert "no scatter" in band.basis


def test_explicit_modulus_is_taken_as_it_is() -> None:
    stated = MaterialInput(youngs_modulus=120e3)
    static = m.static_modulus(stated, Tolerance(), 275.0)
    assert m.dynamic_modulus(stated, Tolerance(), 300.0, 20.0) == static
    assert (static.value, static.high) == pytest.approx((120e3, 132e3))
    assert static.low == pytest.approx(120e3 / 1.1)
    assert m.static_modulus(stated, NO_SCATTER, 275.0).high == 120e3


@pytest.mark.parametrize("points", [1.0, 99.0])
@pytest.mark.parametrize("scale", ["OO", "A"])
def test_bands_stay_finite_at_the_ends_of_the_scale(scale: str, points: float) -> None:
    stated = MaterialInput(hardness_scale=scale, hardness=points)  # type: ignore[arg-type]
    band = m.static_modulus(stated, Tolerance(hardness=30.0), ROOM)
    assert 0.0 < band.low < band.value < band.high < math.inf


@pytest.mark.parametrize("frequency", [0.0, -1.0, math.nan])
def test_frequency_must_be_positive(frequency: float) -> None:
    with pytest.raises(ValueError, match="`frequency` must be positive"):
        m.dynamic_modulus(OO50, Tolerance(), ROOM, frequency)


def test_material_without_stiffness_is_refused() -> None:
    with pytest.raises(ValueError, match="neither `youngs_modulus` nor `hardness`"):
        m.static_modulus(MaterialInput(), Tolerance(), ROOM)


def test_loss_factor_default_stated_and_replaced() -> None:
    band = m.loss_factor(OO50)
    assert (band.value, band.low, band.high) == (0.16, 0.08, 0.33)
    assert m.loss_factor(MaterialInput(loss_factor=0.0)).high == 0.0
    assert m.loss_factor(MaterialInput(loss_factor=0.2)).value == 0.2
    assert m.loss_factor(MaterialInput(kelvin_voigt_time=1e-3)).value == 0.0


def test_default_loss_factor_agrees_with_the_rate_exponent() -> None:
    """Kramers-Kronig for a power law: tan delta = tan(n pi/2)."""
    assert m.DEFAULTS.loss_factor == pytest.approx(
        math.tan(m.DEFAULTS.rate_exponent * math.pi / 2), abs=2e-3
    )


@pytest.mark.parametrize(
    ("salt", "expected"),
    [(0.0, 1020), (0.05, 1048), (0.10, 1077), (0.20, 1141), (0.30, 1212), (0.40, 1294)],
)
def test_density_by_the_mixture_rule(salt: float, expected: float) -> None:
    band = m.material_density(MaterialInput(salt_fraction=salt), Tolerance())
    assert band.value == pytest.approx(expected, abs=1.0)
    assert band.high - band.value == pytest.approx(15.0)
    assert band.value - band.low == pytest.approx(15.0, rel=0.02)


def test_stated_density_wins_over_salt() -> None:
    stated = MaterialInput(density=1100.0, salt_fraction=0.2)
    band = m.material_density(stated, Tolerance())
    assert band.value == 1100.0
    assert band.high == pytest.approx(1103.3)
    assert m.material_density(stated, Tolerance(density=0.0)).low == 1100.0


def test_density_band_stays_positive() -> None:
    assert m.material_density(MaterialInput(density=1.0), Tolerance(density=50.0)).low > 0.0


def test_poisson_ratio() -> None:
    assert m.poisson_ratio(OO50) == 0.49
    assert m.poisson_ratio(MaterialInput(poisson_ratio=0.3)) == 0.3
