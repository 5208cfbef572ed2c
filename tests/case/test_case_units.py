"""Quantities: numbers, units and what is refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simsoft.case import units


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        ("2.5 in", "m", 0.0635),
        ("2.5in", "m", 0.0635),
        ("2 1/2 in", "m", 0.0635),
        ("-1/4 in", "m", -0.00635),
        ("1 ft", "m", 0.3048),
        ("5 µm", "m", 5e-6),
        ("5 μm", "m", 5e-6),
        ("1e1 mm", "m", 0.01),
        ("+3 mm", "m", 0.003),
        ("−3 mm", "m", -0.003),
        ("1/4 oz", "kg", 0.00708738),
        ("2 lb", "kg", 0.90718474),
        ("68 degF", "K", 293.15),
        ("20 degC", "K", 293.15),
        ("20 °C", "K", 293.15),
        ("68°F", "K", 293.15),
        ("293.15 K", "K", 293.15),
        ("0.6 m/s", "m/s", 0.6),
        ("0.5 kn", "m/s", 0.2572222),
        ("1 ft/s", "m/s", 0.3048),
        ("1 mph", "m/s", 0.44704),
        ("1 km/h", "m/s", 1 / 3.6),
        ("2 m s^-1", "m/s", 2.0),
        ("2 m·s^-1", "m/s", 2.0),
        ("120 kPa", "Pa", 120e3),
        ("1.2 MPa", "Pa", 1.2e6),
        ("10 psi", "Pa", 68947.57),
        ("1 bar", "Pa", 1e5),
        ("1.02 g/cm^3", "kg/m^3", 1020.0),
        ("1020 kg/m**3", "kg/m^3", 1020.0),
        ("8.5 lb/ft^3", "kg/m^3", 136.157),
        ("88 deg", "rad", math.radians(88)),
        ("88°", "rad", math.radians(88)),
        ("1 rad", "rad", 1.0),
        ("35 g/kg", "dimensionless", 0.035),
        ("30 %", "dimensionless", 0.3),
        ("0.3", "dimensionless", 0.3),
        ("0.025 1/K", "1/K", 0.025),
        ("0.018 1/degF", "1/K", 0.0324),
        ("1 mN m", "N m", 1e-3),
        ("0.1 N/m", "N/m", 0.1),
        ("1 gf", "N", 9.80665e-3),
        ("1 mPa s", "Pa s", 1e-3),
        ("5 ms", "s", 5e-3),
        ("2 min", "s", 120.0),
    ],
)
def test_parse(text: str, unit: str, expected: float) -> None:
    assert units.parse(text, unit) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "unit", "complaint"),
    [
        ("2.5", "m", "has no unit"),
        ("0", "m", "has no unit"),
        ("2.5 s", "m", "has a unit `s` of the wrong dimension"),
        ("88", "rad", "has no unit"),
        ("88 deg", "dimensionless", "has a unit `deg` of the wrong dimension"),
        ("30 %", "rad", "has a unit `percent` of the wrong dimension"),
        ("20 C", "K", "has an unknown unit `C` (did you mean `degC`?)"),
        ("5 MM", "m", "has an unknown unit `MM` (did you mean `mm`?)"),
        ("5 furlong", "m", "has an unknown unit `furlong`"),
        ("2,5 mm", "m", "has a decimal comma where a point is needed"),
        ("mm", "m", "does not start with a number"),
        ("", "m", "does not start with a number"),
        ("٣ mm", "m", "does not start with a number"),
        ("nan mm", "m", "is not a finite number"),
        ("-inf mm", "m", "is not a finite number"),
        ("1e400 mm", "m", "is not a finite number"),
        ("1e308 km", "m", "is not a finite number"),
        ("1/0 in", "m", "divides by zero"),
        ("5 5 mm", "m", "has a unit `5 mm` that cannot be read"),
        ("2 m**999", "m", "has a unit `m**999` that cannot be read"),
        ("2 kg//m", "m", "has a unit `kg//m` that cannot be read"),
        ("2 (m)", "m", "has a unit `(m)` that cannot be read"),
        ("2 kilodegC", "K", "has a unit `kilodegC` that cannot be read"),
        ("2 \x1b[31m", "m", "has a unit `\\x1b[31m` that cannot be read"),
        ("1 mm" + " " * 300, "m", "is too long for a quantity"),
    ],
)
def test_refused(text: str, unit: str, complaint: str) -> None:
    with pytest.raises(units.QuantityError) as caught:
        units.parse(text, unit)
    assert str(caught.value) == complaint


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("50 OO", ("OO", 50.0)),
        ("50OO", ("OO", 50.0)),
        ("50 oo", ("OO", 50.0)),
        ("50 00", ("OO", 50.0)),
        ("Shore OO", None),
        ("52.5 Shore OO", ("OO", 52.5)),
        ("10 A", ("A", 10.0)),
        ("10 D", None),
        ("10", None),
        ("A 10", None),
    ],
)
def test_durometer(text: str, expected: tuple[str, float] | None) -> None:
    if expected is not None:
        assert units.parse_durometer(text) == expected
        return
    with pytest.raises(units.QuantityError, match="is not a durometer reading"):
        units.parse_durometer(text)


@given(
    st.floats(1e-9, 1e9),
    st.sampled_from(["mm", "cm", "in", "ft", "km", "mi", "µm", "yd"]),
)
def test_round_trip_of_lengths(value: float, unit: str) -> None:
    metres = units.parse(f"{value!r} {unit}", "m")
    assert units.convert(metres, "m", unit) == pytest.approx(value, rel=1e-12)


@given(st.floats(-50, 200))
def test_round_trip_of_temperatures(value: float) -> None:
    kelvin = units.parse(f"{value!r} degF", "K")
    assert units.convert(kelvin, "K", "degF") == pytest.approx(value, abs=1e-9)
    assert kelvin == pytest.approx((value - 32) * 5 / 9 + 273.15)


@given(st.text(max_size=40), st.sampled_from(["m", "K", "dimensionless", "rad", "Pa"]))
def test_any_text_is_a_number_or_a_quantity_error(text: str, unit: str) -> None:
    try:
        value = units.parse(text, unit)
    except units.QuantityError:
        return
    assert math.isfinite(value)
