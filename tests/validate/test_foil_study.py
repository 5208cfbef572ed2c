"""The foils of the page about experiments: their geometry, their case and what is claimed."""

import math

import pytest

from simsoft.case.read import load
from simsoft.validate.locate import checks_directory
from simsoft.validate.studies.experiments import PAGE
from simsoft.validate.studies.foils import (
    CASE,
    FOILS,
    METALS,
    MODIFIED,
    ROOT_CHORD,
    STANDARD,
    FoilAnswer,
    answer,
    overrides,
    section,
    section_shares,
)


@pytest.mark.parametrize(("last", "published"), [(STANDARD, 5956.0), (MODIFIED, 6148.0)])
def test_second_moments_are_those_of_the_published_table(last, published):
    _, inertia = section_shares(last)
    assert 1e12 * inertia * ROOT_CHORD**4 == pytest.approx(published, rel=3e-4)


def test_the_rectangle_has_the_mass_and_stiffness_of_the_section():
    foil = FOILS[2]
    case = load(checks_directory() / CASE, overrides(foil))
    part = case.parts[0]
    area, inertia = section_shares(foil.last)
    for chord, thick in zip((0.120, 0.060), part.thickness.values, strict=True):
        assert case.material.density * thick == pytest.approx(foil.density * area * chord, rel=1e-3)
        assert thick**3 / 12.0 == pytest.approx(inertia * chord**3, rel=1e-3)


def test_the_case_file_is_the_first_foil():
    path = checks_directory() / CASE
    bare, made = load(path), load(path, overrides(FOILS[0]))
    assert bare.material.youngs_modulus == made.material.youngs_modulus
    assert bare.material.density == pytest.approx(made.material.density, rel=1e-3)
    assert bare.parts[0].thickness.values == pytest.approx(made.parts[0].thickness.values, rel=1e-3)


def test_the_reading_follows_the_numbers():
    exact = [FoilAnswer(f, f.air, f.water, f.water - 1.0, f.water + 1.0, f.water / f.air)
             for f in FOILS]  # fmt: skip
    assert "for 0 of 6" in " ".join(section(exact).split())
    off = [FoilAnswer(f, f.air, 1.2 * f.water, 1.1 * f.water, 1.3 * f.water, 1.05 * f.water / f.air)
           for f in FOILS]  # fmt: skip
    told = " ".join(section(off).split())
    assert "for 6 of 6" in told
    assert "Strips meet the metals within 5.0 %" in told
    assert sum("laminate" not in f.name for f in FOILS) == METALS


def test_the_page_holds_what_is_computed_now():
    found = answer(FOILS[0])
    page = (checks_directory() / PAGE).read_text(encoding="utf-8")
    row = next(line for line in page.splitlines() if line.startswith(f"| {FOILS[0].name}"))
    assert f"| {found.water:.1f} ({found.low:.0f} to {found.high:.0f}) |" in row
    assert f"| {100.0 * found.ratio_error:+.1f} % |" in row
    assert math.isclose(found.strips, 0.6187, rel_tol=2e-3)  # strip theory by hand
