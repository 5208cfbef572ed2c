"""Quantities with units: ``"2.5 in"``, ``"1/4 oz"``, ``"68 degF"``, ``"50 OO"`` to plain floats.

The registry holds the few units a lure maker or a laboratory writes, so that it loads in a few
milliseconds. Angles have a dimension of their own: a bare number is never taken for an angle.
Numbers are read here, not by the registry, so that no arithmetic in a case file is evaluated.
"""

from __future__ import annotations

import difflib
import functools
import math
import re
from typing import Any

from simsoft.case.wording import given

# Exact by definition (international yard and pound, SI) except the degree, which is pi/180.
_DEFINITIONS = (
    "giga- = 1e9 = G-",
    "mega- = 1e6 = M-",
    "kilo- = 1e3 = k-",
    "centi- = 1e-2 = c-",
    "milli- = 1e-3 = m-",
    "micro- = 1e-6 = µ- = u-",
    "meter = [length] = m = metre",
    "second = [time] = s = sec",
    "gram = [mass] = g",
    "kelvin = [temperature]; offset: 0 = K",
    "radian = [angle] = rad",
    "percent = 0.01 = pct",
    "degree_Celsius = kelvin; offset: 273.15 = degC = celsius",
    "degree_Fahrenheit = 5 / 9 * kelvin; offset: 233.15 + 200 / 9 = degF = fahrenheit",
    f"degree = {math.pi / 180!r} * radian = deg",
    "inch = 0.0254 * meter = in = inches",
    "foot = 0.3048 * meter = ft = feet",
    "yard = 0.9144 * meter = yd",
    "mile = 1609.344 * meter = mi",
    "minute = 60 * second = min",
    "hour = 3600 * second = h",
    "hertz = 1 / second = Hz",
    "knot = 1852 / 3600 * meter / second = kn = kt",
    "mile_per_hour = mile / hour = mph",
    "liter = 1e-3 * meter ** 3 = l = L = litre",
    "pound = 453.59237 * gram = lb",
    "ounce = pound / 16 = oz",
    "newton = 1e3 * gram * meter / second ** 2 = N",
    "gram_force = 9.80665e-3 * newton = gf",
    "pound_force = 4.4482216152605 * newton = lbf",
    "pascal = newton / meter ** 2 = Pa",
    "bar = 1e5 * pascal",
    "psi = pound_force / inch ** 2",
)
# Units offered when an unknown one is given.
_OFFERED = {
    "length": ("mm", "cm", "m", "in", "ft"),
    "time": ("s", "ms", "min", "h"),
    "mass": ("g", "kg", "oz", "lb"),
    "force": ("N", "mN", "gf", "lbf", "N/m", "N m"),
    "stress": ("Pa", "kPa", "MPa", "GPa", "bar", "psi"),
    "temperature": ("degC", "degF", "K", "1/K"),
    "angle": ("deg", "rad"),
    "density": ("kg/m^3", "g/cm^3", "g/kg"),
    "speed": ("m/s", "cm/s", "in/s", "ft/s", "km/h", "mph", "kn", "Hz", "1/s"),
}
_MEANT = {"C": "degC", "F": "degF"}
_DECIMAL = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_NUMBER = re.compile(
    r"(?P<sign>[+-])?(?:(?P<whole>\d+)\s+)?(?P<top>\d+)/(?P<bottom>\d+)"
    rf"|(?P<decimal>{_DECIMAL})",
    re.ASCII,
)
_FACTOR = r"[A-Za-zµ_]+(?:(?:\^|\*\*)-?[1-9])?"
_UNIT = re.compile(rf"(?:1\s*/\s*)?{_FACTOR}(?:(?:\s*[*/·]\s*|\s+){_FACTOR})*")
_DUROMETER = re.compile(rf"(?P<value>{_DECIMAL})\s*(?:shore\s+)?(?P<scale>OO|00|A)", re.I | re.A)
_SYMBOLS = (("−", "-"), ("μ", "µ"), ("°C", "degC"), ("°F", "degF"), ("°", "deg"), ("%", "percent"))
_LONGEST = 200


class QuantityError(ValueError):
    """A text is not the quantity asked for; the message reads after the given text."""


@functools.lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    registry: Any = pint.UnitRegistry(None)
    for line in _DEFINITIONS:
        registry.define(line)
    return registry


@functools.lru_cache(maxsize=512)
def _unit(text: str) -> Any:
    """Return the pint unit named by ``text``; QuantityError where there is none."""
    import pint

    if not _UNIT.fullmatch(text):
        raise QuantityError(f"has a unit {given(text)} that cannot be read")
    try:
        return _registry().parse_units(text.replace("·", "*"))
    except pint.UndefinedUnitError:
        offered = [unit for group in _OFFERED.values() for unit in group]
        near = difflib.get_close_matches(text.lower(), offered, n=1, cutoff=0.5)
        meant = _MEANT.get(text) or (near[0] if near else "")
        hint = f" (did you mean `{meant}`?)" if meant else ""
        raise QuantityError(f"has an unknown unit {given(text)}{hint}") from None
    except Exception:  # the parser of the unit library raises many kinds
        raise QuantityError(f"has a unit {given(text)} that cannot be read") from None


def split(text: str) -> tuple[float, str]:
    """Split a quantity into its number and its unit text.

    Parameters
    ----------
    text : str
        Decimal number, fraction ``1/4`` or mixed number ``2 1/2``, then the unit if any.

    Returns
    -------
    number : float, finite
    unit : str, empty where there is none

    Raises
    ------
    QuantityError
        The text does not start with a finite number.
    """
    if len(text) > _LONGEST:
        raise QuantityError("is too long for a quantity")
    for symbol, name in _SYMBOLS:
        text = text.replace(symbol, name)
    text = text.strip()
    match = _NUMBER.match(text)
    if match is None:
        if re.match(r"[+-]?(nan|inf)", text, re.IGNORECASE):
            raise QuantityError("is not a finite number")
        raise QuantityError("does not start with a number")
    rest = text[match.end() :]
    if rest.startswith(","):
        raise QuantityError("has a decimal comma where a point is needed")
    number = _number(match)
    if not math.isfinite(number):
        raise QuantityError("is not a finite number")
    return number, rest.strip()


def _number(match: re.Match[str]) -> float:
    if match["decimal"] is not None:
        return float(match["decimal"])
    bottom = int(match["bottom"])
    if bottom == 0:
        raise QuantityError("divides by zero")
    try:
        fraction = int(match["top"]) / bottom
        whole = float(match["whole"] or 0)
    except OverflowError:
        raise QuantityError("is not a finite number") from None
    return -(whole + fraction) if match["sign"] == "-" else whole + fraction


@functools.lru_cache(maxsize=4096)  # a sweep reads the same few texts again and again
def parse(text: str, unit: str) -> float:
    """Return the quantity ``text`` as a number in ``unit``.

    Parameters
    ----------
    text : str
        For example ``"2.5 in"``.
    unit : str
        Unit of the result, for example ``"m"``; ``"dimensionless"`` for a fraction.

    Raises
    ------
    QuantityError
        No number, no unit, an unknown unit or one of the wrong dimension.
    """
    number, unit_text = split(text)
    if not unit_text and unit != "dimensionless":
        raise QuantityError("has no unit")
    factor = _factor(unit_text, unit)
    if factor is None or not math.isfinite(number * factor):
        return _convert(number, _source(unit_text), unit, unit_text)
    return number * factor


def _source(unit_text: str) -> Any:
    return _unit(unit_text) if unit_text else _registry().dimensionless


@functools.lru_cache(maxsize=1024)
def _factor(unit_text: str, unit: str) -> float | None:
    """Return what one unit is in another; None where there is more to it, as for ``degC``."""
    zero, one, many = (_convert(n, _source(unit_text), unit, unit_text) for n in (0.0, 1.0, 1024.0))
    return one if zero == 0.0 and many == 1024.0 * one else None


def _convert(number: float, source: Any, unit: str, unit_text: str) -> float:
    import pint

    target = _registry().parse_units(unit)
    shown = given(unit_text)
    try:
        value = float(_registry().Quantity(number, source).to(target).magnitude)
    except (pint.DimensionalityError, pint.OffsetUnitCalculusError):
        raise QuantityError(f"has a unit {shown} of the wrong dimension") from None
    except (OverflowError, ZeroDivisionError):
        raise QuantityError("is not a finite number") from None
    if not math.isfinite(value):
        raise QuantityError("is not a finite number")
    return value


@functools.lru_cache(maxsize=4096)
def convert(value: float, source: str, target: str) -> float:
    """Return ``value`` [source] in ``target`` units; both are unit texts of the same dimension."""
    factor = _factor(source, target)
    if factor is not None and math.isfinite(value * factor):
        return value * factor
    return _convert(value, _registry().parse_units(source), target, source)


def parse_durometer(text: str) -> tuple[str, float]:
    """Return scale ('OO' or 'A') and Shore points of a text such as ``"50 OO"``.

    Raises
    ------
    QuantityError
        The text is not a number followed by one of the two scales.
    """
    match = _DUROMETER.fullmatch(text.strip()) if len(text) <= _LONGEST else None
    if match is None:
        raise QuantityError("is not a durometer reading")
    value = float(match["value"])
    if not math.isfinite(value):
        raise QuantityError("is not a finite number")
    return ("A" if match["scale"].upper() == "A" else "OO"), value
