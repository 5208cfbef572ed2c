"""Water properties against published tables."""

from __future__ import annotations

import math

import pytest

from simsoft.case import units
from simsoft.case.limits import LIMITS
from simsoft.case.model import WaterInput
from simsoft.core.errors import InputError
from simsoft.properties import water

# degC, fresh density, fresh viscosity [mPa s], sea density and viscosity at 35 g/kg. Fresh
# columns agree with the International Critical Tables 1928; sea after Sharqawy et al. 2010.
TABLE = (
    (0, 999.84, 1.792, 1028.0, 1.906),
    (4, 999.97, 1.567, 1027.7, 1.671),
    (5, 999.96, 1.518, 1027.6, 1.619),
    (8, 999.85, 1.385, 1027.2, 1.479),
    (10, 999.70, 1.306, 1026.9, 1.397),
    (15, 999.10, 1.138, 1026.0, 1.220),
    (20, 998.20, 1.002, 1024.9, 1.077),
    (25, 997.04, 0.890, 1023.6, 0.959),
    (28, 996.23, 0.832, 1022.7, 0.898),
    (30, 995.65, 0.797, 1022.0, 0.861),
)


@pytest.mark.parametrize("row", TABLE)
def test_density_matches_table_within_a_thousandth(row: tuple[float, ...]) -> None:
    celsius, fresh, _, sea, _ = row
    assert water.water_density(celsius + 273.15) == pytest.approx(fresh, rel=1e-3)
    assert water.water_density(celsius + 273.15, 0.035) == pytest.approx(sea, rel=1e-3)


@pytest.mark.parametrize("row", TABLE)
def test_fresh_density_matches_to_the_printed_digit(row: tuple[float, ...]) -> None:
    assert water.water_density(row[0] + 273.15) == pytest.approx(row[1], abs=0.006)


@pytest.mark.parametrize("row", TABLE)
def test_viscosity_matches_table_within_a_hundredth(row: tuple[float, ...]) -> None:
    celsius, _, fresh, _, sea = row
    assert water.water_viscosity(celsius + 273.15) * 1e3 == pytest.approx(fresh, rel=1e-2)
    assert water.water_viscosity(celsius + 273.15, 0.035) * 1e3 == pytest.approx(sea, rel=1e-2)


def test_density_is_greatest_near_four_degrees() -> None:
    top = water.water_density(277.13)
    assert top > water.water_density(274.0)
    assert top > water.water_density(281.0)


def test_resolve_takes_stated_values_as_they_are() -> None:
    assert water.resolve_water(WaterInput(density=1.0, viscosity=2.0)) == water.Water(1.0, 2.0)


def test_resolve_computes_what_is_not_stated() -> None:
    found = water.resolve_water(WaterInput(temperature=283.15, salinity=0.035))
    assert found == water.Water(
        water.water_density(283.15, 0.035), water.water_viscosity(283.15, 0.035)
    )
    assert found.density == pytest.approx(1026.9, rel=1e-3)


@pytest.mark.parametrize("law", [water.water_density, water.water_viscosity])
@pytest.mark.parametrize(("kelvin", "salinity"), [(1273.15, 0.0), (-126.85, 0.0), (270.0, 0.0),
                                                  (334.0, 0.0), (293.15, 0.2), (293.15, -0.01),
                                                  (math.nan, 0.0)])  # fmt: skip
def test_outside_its_range_the_law_is_refused(law, kelvin, salinity):
    with pytest.raises(InputError, match="holds from"):
        law(kelvin, salinity)


def test_the_ends_of_a_cases_range_are_inside_the_law():
    for name, law in (("temperature", water.TEMPERATURES), ("salinity", water.SALINITIES)):
        limit = LIMITS[f"water.{name}"]
        for end in (limit.low, limit.high):
            assert law[0] <= units.convert(end, limit.unit, limit.si) <= law[1]
