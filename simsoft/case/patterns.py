"""Regular expressions of quantities: what an editor can check of a number with its unit.

A pattern may let something through that the reader refuses, never the other way round for the
units it knows by name: ranges are rounded outward to two digits. Powers of ten and fractions are
held to their size and sign only. The expressions keep to what the dialects of Python, ECMA 262
and Rust share: no look-around, no named groups.
"""

from __future__ import annotations

import math
import re
from typing import Any

from simsoft.case import units
from simsoft.case.limits import Limit

_PREFIXES = "(?:giga|mega|kilo|centi|milli|micro)?"
# Units that are told apart, by kind of quantity: each with its spellings, held to the range.
_SPELLINGS: dict[str, tuple[tuple[str, ...], ...]] = {
    "length": (("mm",), ("cm",), ("m",), ("in", "inch", "inches"), ("ft", "foot", "feet"),
               ("um", "µm", "μm"), ("km",)),
    "time": (("s", "sec"), ("ms",), ("min",), ("h",)),
    "mass": (("g",), ("kg",), ("mg",), ("oz",), ("lb",)),
    "force": (("N",), ("mN",), ("kN",), ("gf",), ("lbf",)),
    "stress": (("Pa",), ("kPa",), ("MPa",), ("GPa",), ("bar",), ("psi",)),
    "temperature": (("degC", "°C", "celsius"), ("degF", "°F", "fahrenheit"), ("K", "kelvin")),
    "angle": (("deg", "°", "degree"), ("rad",)),
    "share": (("", "dimensionless"), ("%", "percent", "pct")),
    "salinity": (("g/kg",), ("%", "percent", "pct")),
    "density": (("kg/m^3", "kg/m**3"), ("g/cm^3", "g/cm**3")),
    "speed": (("m/s",), ("cm/s",), ("mm/s",), ("in/s",), ("ft/s",), ("km/h",), ("mph",),
              ("km/s",), ("kn",)),
    "rate": (("Hz", "1/s"),),
    "viscosity": (("mPa s",), ("Pa s",)),
    "moment": (("N m",), ("mN m",)),
    "weight": (("N/m",),),
    "slope": (("1/K",),),
    "drag": (("N s^2/m^2",),),
}  # fmt: skip
_OF_UNIT = {
    "mm": "length", "m": "length", "s": "time", "ms": "time", "g": "mass", "N": "force",
    "mN": "force", "kPa": "stress", "degC": "temperature", "K": "temperature", "deg": "angle",
    "": "share", "g/kg": "salinity", "kg/m^3": "density", "m/s": "speed", "Hz": "rate",
    "1/s": "rate", "mPa s": "viscosity", "N m": "moment", "N/m": "weight", "1/K": "slope",
    "N s^2/m^2": "drag",
}  # fmt: skip
# Further names of units without a sign between them, by kind of quantity.
_NAMES = {
    "length": f"{_PREFIXES}met(?:er|re)s?|yd|yards?|miles?",
    "time": f"{_PREFIXES}seconds?|minutes?|hours?",
    "mass": f"{_PREFIXES}grams?|pounds?|ounces?",
    "force": f"{_PREFIXES}newtons?|gram_force|pound_force",
    "stress": f"{_PREFIXES}pascals?",
    "temperature": "degree_Celsius|degree_Fahrenheit",
    "angle": f"{_PREFIXES}radians?|degrees",
    "speed": "mile_per_hour|knots?|kt",
    "rate": f"{_PREFIXES}hertz|[kmM]Hz",
}
# Units put together with signs; they are held to a range only where they are spelled as above.
_ONE = r"[A-Za-zµμ_]+(?:(?:\^|\*\*)-?\d)?"
_SEVERAL = rf"{_ONE}(?:[\s*/·]+{_ONE})*"
_COMPOUND = rf"1\s*/\s*{_SEVERAL}|{_ONE}[\s*/·]+{_SEVERAL}|[A-Za-zµμ_]+(?:\^|\*\*)-?\d"
_OPEN = ("stress", "share", "salinity", "density", "speed", "rate", "viscosity", "moment",
         "weight", "slope", "drag", "force")  # fmt: skip
_FRACTION = r"(?:\d+\s+)?\d+/0*[1-9]\d*"
_ANY = rf"(?:(?:\d+\.?\d*|\.\d+)(?:[eE](?:[+-]?\d{{1,2}}|-\d{{3}}))?|{_FRACTION})"
_MINUS = "[-−]"
_SMALLEST = -99  # exponent of ten of what is told from zero


def quantity(limit: Limit) -> dict[str, Any]:
    """Return the JSON Schema of the texts that a row of the table of limits allows.

    Parameters
    ----------
    limit : Limit, with a unit; without one, a share that may be written in per cent
    """
    kind = _OF_UNIT[limit.unit]
    forms = []
    for names in _SPELLINGS[kind]:
        ends = [name or "dimensionless" for name in (limit.unit, names[0])]
        low, high = (units.convert(end, *ends) for end in (limit.low, limit.high))
        span = _number(low, high, zero=not (limit.open_low and limit.low == 0))
        forms.append(rf"(?:{span})\s*(?:{'|'.join(map(_spelled, names))})")
    sign = r"\+?" if limit.low >= 0 and kind != "temperature" else r"[+\-−]?"
    if kind in _NAMES:
        forms.append(rf"{sign}{_ANY}\s*(?:{_NAMES[kind]})")
    named = {"pattern": _whole("|".join(forms))}
    if kind not in _OPEN:
        return {"type": "string", **named}
    spelled = "|".join(_spelled(name) for names in _SPELLINGS[kind] for name in names)
    open_end = {
        "pattern": _whole(rf"{sign}{_ANY}\s*(?:{_COMPOUND})"),
        "not": {"pattern": _whole(rf"[+\-−]?{_ANY}\s*(?:{spelled})")},
    }
    return {"type": "string", "anyOf": [named, open_end]}


def spellings(unit: str) -> tuple[tuple[str, ...], ...]:
    """Return the units that are held to a range where the table of limits says ``unit``."""
    return _SPELLINGS[_OF_UNIT[unit]]


def _whole(pattern: str) -> str:
    return rf"^\s*(?:{pattern})\s*$"


def durometer_pattern(low: float, high: float) -> str:
    """Return the pattern of a durometer reading with its scale."""
    shore = "(?:[Ss][Hh][Oo][Rr][Ee]\\s+)?"
    return rf"^\s*(?:{_number(low, high)})\s*{shore}(?:[Oo][Oo]|00|[Aa])\s*$"


def any_quantity() -> str:
    """Return the pattern of a number with any unit, where another key decides which."""
    return rf"^\s*[+\-−]?{_ANY}\s*[A-Za-zµμ%°1][^\n]*$"


def _number(low: float, high: float, *, zero: bool = True) -> str:
    """Return the pattern of the numbers from ``low`` to ``high``, ends rounded outward.

    ``zero`` false leaves zero itself out.
    """
    forms = []
    if high > 0.0 or low == 0.0:
        forms.append(rf"\+?(?:{_size(max(low, 0.0), max(high, 0.0), zero)})")
    if low < 0.0:
        forms.append(f"{_MINUS}(?:{_size(max(-high, 0.0), -low, zero)})")
    elif low == 0.0 and zero:
        forms.append(rf"{_MINUS}0+\.?0*")
    return "|".join(forms)


def _size(low: float, high: float, zero: bool) -> str:
    """Return the pattern of the numbers without a sign between two ends."""
    forms = [_FRACTION]
    if low == 0.0 and zero:
        forms.append(r"0+\.?0*|\.0+|0[eE](?:[+-]?\d{1,2}|-\d{3})")
    if high == 0.0:
        return "|".join(forms)
    top, last = _digits(high, up=True)
    bottom, first = _digits(low, up=False) if low > 0.0 else (min(0, top), 10)
    if low == 0.0:  # all that is smaller than the places told apart below
        forms.append(rf"0*\.{'0' * -bottom}0*[1-9]\d*")
    full = []
    for place in range(bottom, top + 1):
        ends = (first if place == bottom else 10, last if place == top else 100)
        if ends == (10, 100):
            full.append(place)
        else:
            forms += _led(place, *ends)
    above, below = [n for n in full if n >= 0], [-1 - n for n in full if n < 0]
    if above:
        forms.append(rf"0*[1-9]\d{{{min(above)},{max(above)}}}(?:\.\d*)?")
    if below:
        forms.append(rf"0*\.0{{{min(below)},{max(below)}}}[1-9]\d*")
    least = _SMALLEST if low == 0.0 else bottom
    if least < top:
        forms.append(rf"[1-9](?:\.\d*)?[eE](?:{_exponents(least, top - 1)})")
    forms.append(rf"[1-{min(last // 10, 9)}](?:\.\d*)?[eE](?:{_exponents(top, top)})")
    forms.append(r"(?:\d{2,}\.?\d*|0?\.\d+|0\.)[eE](?:[+-]?\d{1,2}|-\d{3})")
    return "|".join(forms)


def _digits(value: float, up: bool) -> tuple[int, int]:
    """Return the place and the two leading digits (10 to 100) of a number, rounded outward."""
    place = math.floor(math.log10(value) + 1e-12)
    lead = value / 10.0 ** (place - 1)
    return place, math.ceil(lead - 1e-9) if up else math.floor(lead + 1e-9)


def _led(place: int, first: int, last: int) -> list[str]:
    """Return the numbers at one place whose two leading digits lie from ``first`` to ``last``.

    After the digits of ``last`` only zeros follow.
    """
    forms = [_placed(place, str(lead), others, r"\d*") for lead, others in _groups(first, last)]
    if last < 100:
        forms.append(_placed(place, str(last // 10), str(last % 10), "0*"))
    return forms


def _placed(place: int, lead: str, second: str, rest: str) -> str:
    """Return numbers with their first digit at a place, by their two leading digits."""
    digit = rest.removesuffix("*")
    if place >= 1:
        return rf"0*{lead}{second}{digit}{{{place - 1}}}(?:\.{rest})?"
    behind = f"{second}{rest}"
    if second.strip("[\\")[0] in "0d":  # the second digit may be left out
        behind = f"(?:{behind})?"
    if place < 0:
        return rf"0*\.{'0' * (-place - 1)}{lead}{behind}"
    return rf"0*{lead}(?:\.{behind})?" if behind.endswith("?") else rf"0*{lead}\.{behind}"


def _groups(first: int, last: int) -> list[tuple[str, str]]:
    """Return the leading digits from ``first`` to below ``last``: first digits, second digits."""
    found = []
    for lead in range(first // 10, 10):
        low, high = max(first, 10 * lead), min(last - 1, 10 * lead + 9)
        if low <= high:
            whole = (low % 10, high % 10) == (0, 9)
            found.append((str(lead), r"\d" if whole else f"[{low % 10}-{high % 10}]"))
    full = [lead for lead, others in found if others == r"\d"]
    if len(full) > 1:
        found = [pair for pair in found if pair[0] not in full]
        found.append((f"[{full[0]}-{full[-1]}]", r"\d"))
    return found


def _exponents(low: int, high: int) -> str:
    """Return the pattern of the whole numbers between two ends."""
    forms = []
    if low < 0:
        below = range(-min(high, -1), -low + 1)
        forms.append(r"-\d{1,3}" if len(below) > 12 else f"-0?(?:{'|'.join(map(str, below))})")
    if high >= 0:
        above = "|".join(map(str, range(max(low, 0), high + 1)))
        forms.append(rf"\+?0?(?:{above})" + ("|-00?" if low <= 0 else ""))
    return "|".join(forms)


def _spelled(name: str) -> str:
    """Return the pattern of a unit's name; its signs may stand with spaces."""
    named = re.escape(name).replace("\\ ", " ").replace("/", r"\s*/\s*")
    return named.replace(" ", r"[\s*·]+")
