"""Map of falling discs against the published boundaries."""

import math

import pytest

from simsoft.hydrodynamics.correlations.falling_plates import disc_inertia, disc_regime


@pytest.mark.parametrize(
    ("reynolds", "inertia", "expected"),
    [(50.0, 0.1, "steady"), (2000.0, 3e-3, "flutters"), (2000.0, 0.02, "chaotic"),
     (2000.0, 0.3, "tumbles")],
)  # fmt: skip
def test_regimes(reynolds, inertia, expected):
    assert disc_regime(reynolds, inertia) == expected


def test_dimensionless_inertia_of_a_disc():
    """I of the disc about a diameter over rho d^5: pi rho_s t d^4/64 over rho_f d^5."""
    solid, fluid, thickness, width = 1100.0, 1000.0, 1e-3, 20e-3
    moment = solid * math.pi / 64.0 * width**4 * thickness
    assert disc_inertia(solid, fluid, thickness, width) == pytest.approx(
        moment / (fluid * width**5)
    )
