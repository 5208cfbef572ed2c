"""Hardness laws of the checks against tables."""

import pytest

from simsoft.validate import hardness as m


def test_type_a_spring_at_both_ends() -> None:
    """ASTM D2240: 0.55 to 8.05 N."""
    assert m.durometer_force_a(0) == pytest.approx(0.55)
    assert m.durometer_force_a(100) == pytest.approx(8.05)


@pytest.mark.parametrize(("points", "megapascal"), [(30, 1.161), (60, 5.884)])
def test_ruess_modulus_is_base_ten(points: float, megapascal: float) -> None:
    assert m.ruess_modulus(points) / 1e6 == pytest.approx(megapascal, rel=1e-3)


@pytest.mark.parametrize(
    ("megapascal", "millimetre"),
    [(1, 1.798), (1.5, 1.331), (2, 1.076), (3, 0.7967), (5, 0.5457)],
)
def test_irhd_indentation(megapascal: float, millimetre: float) -> None:
    assert m.irhd_indentation(megapascal * 1e6) * 1e3 == pytest.approx(millimetre, rel=1e-3)


@pytest.mark.parametrize(
    ("stress", "modulus"),
    [(0.0552, 0.0946), (0.0689, 0.118), (0.0827, 0.142), (0.152, 0.26), (0.593, 1.02)],
)
def test_neo_hooke_modulus_of_platinum_silicones(stress: float, modulus: float) -> None:
    assert m.neo_hooke_modulus(stress) == pytest.approx(modulus, rel=5e-3)
