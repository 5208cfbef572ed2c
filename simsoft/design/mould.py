"""What fills a mould and leaves it whole: the least thickness of every part.

Below it hot plastisol sets in the cavity before it reaches the end, or the part tears as it is
pulled out. The numbers are the thinnest that the trade pours of each kind (``case/limits.py``),
common practice, no source. A paddle is thick for its action, not for the mould: its stem does what
a claw's neck does, its plate what a claw's pad does, and their numbers stand for it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from simsoft.case.limits import TYPICAL_BY_KIND
from simsoft.case.model import Case, Part
from simsoft.case.overrides import apply
from simsoft.case.read import from_tables
from simsoft.core.errors import InputError
from simsoft.design.sweep.axis import Axis
from simsoft.design.sweep.task import BaseCase
from simsoft.design.text_number import read_quantity

WHY = (
    "thinner, hot plastisol does not fill or tears as it is pulled out (common practice, no source)"
)
CLOSE = 1.0e-9  # [m] below which two thicknesses are the same


@dataclass(frozen=True)
class Spot:
    """The thinnest place of one kind on one part.

    Attributes
    ----------
    name : str, as in 'claw neck'
    thickness, least : float [m], as drawn, and the least that fills and leaves the mould whole
    """

    name: str
    thickness: float
    least: float

    @property
    def too_thin(self) -> bool:
        """Whether it is thinner than what fills and leaves the mould whole."""
        return self.thickness < self.least - CLOSE


def spots(case: Case) -> list[Spot]:
    """Return the thin places of every part of a case."""
    return [spot for part in case.parts for spot in _of_part(part)]


def _of_part(part: Part) -> list[Spot]:
    neck, pad = _least("claw", "neck_thickness"), _least("claw", "thickness")
    thin = min(part.thickness.values)
    if part.paddle is not None:
        plate = Spot(f"{part.name} paddle", part.paddle.thickness, pad)
        return [Spot(f"{part.name} stem", thin, neck), plate]
    if part.kind == "claw":
        root = Spot(f"{part.name} neck", part.thickness.values[0], neck)
        return [root, Spot(part.name, thin, pad)]
    key = "diameter" if part.kind == "leg" else "thickness"
    return [Spot(part.name, thin, _least(part.kind, key))]


def _least(kind: str, key: str) -> float:
    """Return the least thickness [m] that the trade pours."""
    return 1e-3 * TYPICAL_BY_KIND[kind, key][0]


def thin_sentences(case: Case) -> list[str]:
    """Return a sentence for every place of a case that is too thin for the mould."""
    return [
        f"{spot.name} is {1e3 * spot.thickness:.3g} mm thick, the mould gives "
        f"{1e3 * spot.least:.3g} mm: {WHY}"
        for spot in spots(case)
        if spot.too_thin
    ]


def within_mould(base: BaseCase, case: Case, axes: Sequence[Axis]) -> list[Axis]:
    """Return axes without the values that no mould gives; one that lost some says why it ends.

    What is thin already, and is not changed by a value, takes none away.

    Parameters
    ----------
    base : BaseCase, the case as tables
    case : Case, of these tables
    axes : sequence of Axis, with values

    Raises
    ------
    InputError
        No value of an axis is left.
    """
    return [_cut(base, case, axis) for axis in axes]


def _cut(base: BaseCase, case: Case, axis: Axis) -> Axis:
    own = {spot.name: spot.thickness for spot in spots(case)}
    kept, lost = [], []
    for value in axis.values:
        thin = _thinned(base, own, f"{axis.path}={value}")
        if thin is None:
            kept.append(value)
        else:
            lost.append(thin)
    if not lost:
        return axis
    end = max(lost, key=lambda spot: spot.least)
    if not kept:
        raise InputError(
            f"{base.name}: {axis.path}: every value makes {end.name} thinner than "
            f"{1e3 * end.least:.3g} mm; {WHY}"
        )
    bound = f"{end.name} is looked through from {1e3 * end.least:.3g} mm up: {WHY}"
    numbers = [number for number in map(read_quantity, kept) if number is not None]
    if len(numbers) < len(kept):
        return replace(axis, values=tuple(kept), bound=bound)
    ends = sorted(numbers, key=lambda quantity: quantity.number)
    return replace(axis, values=tuple(kept), low=ends[0], high=ends[-1], bound=bound)


def _thinned(base: BaseCase, own: Mapping[str, float], change: str) -> Spot | None:
    """Return the place that a change makes too thin, None where it makes none or is refused."""
    try:
        moved = from_tables(apply(base.tables, [change])[0], base.text, base.name)
    except InputError:
        return None  # told where the candidate is tried
    for spot in spots(moved):
        if spot.too_thin and abs(spot.thickness - own.get(spot.name, 0.0)) > CLOSE:
            return spot
    return None
