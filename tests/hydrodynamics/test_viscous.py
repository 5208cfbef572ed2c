"""Hydrodynamic function of vibrating sections."""

import numpy as np
import pytest

from simsoft.hydrodynamics.viscous import hydrodynamic_function

# Sader 1998, J. Appl. Phys. 84:64, equations 20 and 21; Re = rho omega b^2 / (4 mu).
SADER = {
    0.1: (11.74 + 23.84j, 10.48 + 21.83j),
    1.0: (3.968 + 4.567j, 3.734 + 4.075j),
    10.0: (1.902 + 1.084j, 1.918 + 0.9816j),
    100.0: (1.283 + 0.3025j, 1.326 + 0.2961j),
    1.0e3: (1.089 + 0.09143j, 1.117 + 0.1006j),
    1.0e4: (1.028 + 0.02848j, 1.042 + 0.03555j),
}


@pytest.mark.parametrize("column", ["circular", "rectangular"])
@pytest.mark.parametrize("reynolds", SADER)
def test_both_sections_match_the_published_function(reynolds, column):
    expected = SADER[reynolds][("circular", "rectangular").index(column)]
    found = hydrodynamic_function(reynolds, column)
    assert found.real == pytest.approx(expected.real, rel=1e-3)
    assert found.imag == pytest.approx(expected.imag, rel=1e-3)


def test_arrays_keep_their_shape():
    found = hydrodynamic_function(np.array([[1.0, 10.0], [100.0, 1e3]]))
    assert found.shape == (2, 2)
    assert found[0, 1] == pytest.approx(hydrodynamic_function(10.0), rel=1e-14)


def test_circle_tends_to_inviscid_theory_without_underflow():
    # Stokes 1851, high-frequency limit: 1 + 4 / sqrt(2 Re) real, 4 / sqrt(2 Re) imaginary.
    found = hydrodynamic_function(1e8, "circular")
    assert found.real - 1.0 == pytest.approx(4.0 / np.sqrt(2e8), rel=1e-3)
    assert found.imag == pytest.approx(4.0 / np.sqrt(2e8), rel=1e-3)


def test_rectangle_refuses_what_it_was_not_fitted_to():
    with pytest.raises(ValueError, match="`reynolds` must lie between 1e-06 and 10000, got 1"):
        hydrodynamic_function(1e6)


@pytest.mark.parametrize("reynolds", [0.0, -1.0, np.nan, np.inf])
def test_reynolds_number_must_be_positive(reynolds):
    with pytest.raises(ValueError, match="`reynolds` must be positive and finite"):
        hydrodynamic_function(reynolds)


def test_unknown_section_is_named():
    with pytest.raises(ValueError, match=r"`section` must be .* got 'oval'"):
        hydrodynamic_function(1.0, "oval")
