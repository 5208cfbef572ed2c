"""Air against the standard atmosphere."""

import pytest

from simsoft.properties.air import air, air_density, air_viscosity


def test_air_at_sea_level_is_that_of_the_standard_atmosphere():
    """ICAO/U.S. Standard Atmosphere 1976 at 15 degC: 1.2250 kg/m^3, 1.7894e-5 Pa s."""
    found = air(288.15)
    assert found.density == pytest.approx(1.2250, rel=1e-4)
    assert found.viscosity == pytest.approx(1.7894e-5, rel=1e-4)


@pytest.mark.parametrize(
    ("temperature", "pressure", "dense", "viscous"),
    [(281.65, 89876.0, 1.1117, 1.7579e-5), (255.68, 54048.0, 0.73643, 1.6281e-5)],
)
def test_air_aloft(temperature, pressure, dense, viscous):
    """The same table at 1000 m and 5000 m."""
    assert air_density(temperature, pressure) == pytest.approx(dense, rel=2e-4)
    assert air_viscosity(temperature) == pytest.approx(viscous, rel=1e-3)


def test_cold_air_is_denser():
    assert air_density(263.15) / air_density(303.15) == pytest.approx(303.15 / 263.15)
