"""SI records to the user's units, with as many digits as the band deserves."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Literal

from simsoft.core.quantities import QUANTITIES
from simsoft.results.record import Record, Value, is_upper_bound

LengthUnit = Literal["mm", "inch"]

INCH = 0.0254  # [m], exact by definition
FOOT = 12.0 * INCH
TURN = 27.0 * INCH  # [m] that a reel takes up in a turn: common practice, no source
COUNTED = 10.0  # [s] in which turns are counted
FAR = 3.0  # [m] no size of a lure: a distance
# SI unit -> factor and the user's unit; a unit that is not listed stays as it is.
_USER_UNITS = {
    "m": (1e3, "mm"),
    "N m": (1e3, "N mm"),
    "kg": (1e3, "g"),
    "m^3": (1e6, "cm3"),
    "m^2": (1e4, "cm2"),
    "kg/m^3": (1.0, "kg/m3"),
    "Pa": (1e-3, "kPa"),
}
SMALL_FORCE = 0.1  # [N]
SMALL_MOMENT = 1e-4  # [N m]
MOST_DIGITS = 4
_SIZES = re.compile(r"(-?\d+(?:\.\d+)?) (m/s|mm)\b")
# decimals: nothing here is finer than a micrometre, a millimetre a second
FINEST = {"mm": 3, "inch": 4, "": 4, "m/s": 3, "ft/s": 3, "in/s": 2, "Hz": 4, "deg": 2, "deg/s": 2}
AT_OR_BELOW = "at or below "
EXACT_DIGITS = 3


def user_unit(
    unit: str, length_unit: LengthUnit = "mm", largest: float | None = None
) -> tuple[float, str]:
    """Return the factor from an SI unit to the user's unit, and its name in ASCII.

    Parameters
    ----------
    unit : str, unit of a record ('m', 'm/s', 'Hz', 'deg', 'N', 'N m', 'kg', '', ...)
    length_unit : 'mm' or 'inch'
    largest : float or None, largest number [SI] to be shown; small forces and moments turn
        to mN and mN mm, distances to metres or feet

    Returns
    -------
    factor : float, user's number over SI number
    name : str
    """
    if unit == "m" and largest is not None and abs(largest) >= FAR:
        return (1.0 / FOOT, "ft") if length_unit == "inch" else (1.0, "m")
    if unit == "m" and length_unit == "inch":
        return 1.0 / INCH, "inch"
    if unit == "m/s" and length_unit == "inch":
        return 1.0 / FOOT, "ft/s"
    if unit == "N" and largest is not None and abs(largest) < SMALL_FORCE:
        return 1e3, "mN"
    if unit == "N m" and largest is not None and abs(largest) < SMALL_MOMENT:
        return 1e6, "mN mm"
    return _USER_UNITS.get(unit, (1.0, unit))


def unit_of(
    quantity: str, unit: str, length_unit: LengthUnit = "mm", largest: float | None = None
) -> tuple[float, str]:
    """Return factor and name of the user's unit of a quantity: `user_unit`, inches/s for falls."""
    known = QUANTITIES.get(quantity)
    if known is not None and known.sinks and unit == "m/s" and length_unit == "inch":
        return 1.0 / INCH, "in/s"
    return user_unit(unit, length_unit, largest)


def speed_text(speed: float, length_unit: LengthUnit = "mm") -> str:
    """Return a speed [m/s] in the user's unit and its shortest form."""
    factor, name = user_unit("m/s", length_unit)
    return f"{speed * factor:.{4 if name == 'm/s' else 3}g} {name}"


def told_in(sentence: str | None, length_unit: LengthUnit, falls: bool = False) -> str:
    """Return a sentence of the solver, such as a reason, with its sizes in the user's unit.

    The solver writes speeds in m/s and sizes in mm; ``falls`` where its speeds are sink rates.
    """
    if sentence is None or length_unit == "mm":
        return str(sentence)

    def moved(found: re.Match[str]) -> str:
        pace = (1.0 / INCH, "in/s") if falls else (1.0 / FOOT, "ft/s")
        factor, name = pace if found[2] == "m/s" else (1e-3 / INCH, "inch")
        return f"{float(found[1]) * factor:.3g} {name}"

    return _SIZES.sub(moved, sentence)


def crank_turns(speed: float, turn: float) -> float:
    """Return the turns of a reel's crank in ten seconds at a speed [m/s].

    Parameters
    ----------
    speed : float [m/s]
    turn : float [m], line taken up in a turn
    """
    return COUNTED * speed / turn


def decimals(value: float, low: float | None = None, high: float | None = None) -> int:
    """Return how many decimals a number deserves; negative rounds to tens, hundreds.

    The last digit is at most half of half the band's width and shows every end of the band as
    something other than zero, within four significant digits of the largest number. A number
    without a band gets three significant digits.

    Parameters
    ----------
    value : float
    low, high : float or None, band in the same unit
    """
    sizes = [abs(x) for x in (value, low, high) if x is not None and x != 0.0]
    leading = math.floor(math.log10(max(sizes, default=1.0)))
    if low is None or (high is not None and high <= low):
        return EXACT_DIGITS - 1 - leading
    if high is None:
        high = 2.0 * value - low
    places = math.ceil(-math.log10((high - low) / 2.0 / 2.0))
    visible = -math.floor(math.log10(min(sizes)))
    return min(max(places, visible), MOST_DIGITS - 1 - leading)


def rounded(value: float, places: int) -> str:
    """Return a number rounded to ``places`` decimals, without a negative zero.

    Numbers of a million and more, or that need more than six decimals, use an exponent.
    """
    rounded = round(value, places) + 0.0
    if rounded != 0.0 and (abs(rounded) >= 1e6 or places > 6):
        digits = max(0, places + math.floor(math.log10(abs(rounded))))
        return f"{rounded:.{digits}e}"
    return f"{rounded:.{max(places, 0)}f}"


def band_numbers(
    record: Record, length_unit: LengthUnit = "mm", largest: float | None = None
) -> tuple[str, str]:
    """Return a scalar record's number with its band, and the unit apart (for tables).

    Parameters
    ----------
    record : Record whose value is a number
    length_unit : 'mm' or 'inch'
    largest : float or None, largest number [SI] of the column, by default the record's own

    Returns
    -------
    text : str, such as '5.6 (4.6 to 6.9)', or '5.6 (4.6 or more)' where the band is open
        upward, 'at or below 0.05 (0 to 0.06)' of an upper bound; the band is left out where
        it has no width
    unit : str, such as 'Hz'
    """
    if not isinstance(record.value, int | float):
        raise TypeError(f"record {record.quantity!r} is not a number")
    most = record.value if largest is None else largest
    factor, unit = unit_of(record.quantity, record.unit, length_unit, most)
    value = record.value * factor
    low, high = (
        x * factor if isinstance(x, int | float) else None for x in (record.low, record.high)
    )
    known = QUANTITIES.get(record.quantity)
    places = min(decimals(value, low, high), FINEST.get(unit, 99))
    if known is not None and known.decimals is not None:
        places = max(places, known.decimals)
    text = rounded(value, places)
    if low is not None and high is not None and high > low:
        ends = rounded(low, places), rounded(high, places)
        text += f" ({ends[0]} to {ends[1]})" if ends[0] != ends[1] else ""
    elif low is not None and high is None:
        text += f" ({rounded(low, places)} or more)"
    return AT_OR_BELOW * is_upper_bound(record.basis) + text, unit


def show(record: Record, length_unit: LengthUnit = "mm") -> str:
    """Return a record's value for reading: number, band and unit, vector, word, or the reason.

    Parameters
    ----------
    record : Record
    length_unit : 'mm' or 'inch'

    Returns
    -------
    text : str, such as '5.6 Hz (4.6 to 6.9)' or 'none: the tail does not move'
    """
    value: Value = record.value
    if value is None:
        return f"none: {told_in(record.reason, length_unit)}"
    if isinstance(value, str):
        return value
    if isinstance(value, tuple):
        factor, unit = user_unit(record.unit, length_unit)
        scaled = [x * factor for x in value]
        places = decimals(max(map(abs, scaled), default=0.0))
        return f"({', '.join(rounded(x, places) for x in scaled)}) {unit}".strip()
    text, unit = band_numbers(record, length_unit)
    first, _, band = text.partition(" (")
    return f"{first} {unit}".strip() + (f" ({band}" if band else "")


def low_value_high(
    record: Record, factor: float
) -> tuple[float | None, float | None, float | None]:
    """Return the ends and the value of a record times a factor, None where it has no number."""
    found = [
        factor * x if isinstance(x, float | int) else None
        for x in (record.low, record.value, record.high)
    ]
    return found[0], found[1], found[2]


def largest_of(column: Sequence[Record]) -> float | None:
    """Return the largest number [SI] of a column, None where it holds no number."""
    sizes = [abs(r.value) for r in column if isinstance(r.value, int | float)]
    return max(sizes, default=None)
