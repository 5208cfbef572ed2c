"""A number with its band as a line of independent inputs: what moves it, and what is its own doubt.

The inputs are standard normal: one is half the band of an input. What no input explains of a band,
the error of the model among it, is an input of the number itself, which all answers of that
quantity and part share.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from simsoft.case.model import Case, Taper
from simsoft.engine.uncertainty import MODEL_ERROR
from simsoft.geometry.apart import shape_distance
from simsoft.lure.parts import assemble
from simsoft.properties.material import DEFAULTS
from simsoft.results.record import Record
from simsoft.results.result import Moves

COLD = "stiffening in the cold"
# How far off the model may be where its band holds no error of its own, one sigma (judgement,
# as for fits to runs: aquarium/inference/calibrate.py).
OWN_SHARE = {"start_speed": 0.10, "flap_frequency": 0.05, "stroke": 0.15}
OTHER_SHARE = 0.10
# Share of a change between two designs, or two waters, that their common error does not cancel. A
# stiffness only rescales the speed (dimensions alone: start goes with the root of the stiffness),
# a new shape of the paddle does not. Its 0.8 is a judgement: neighbours among the ramped tails of
# validation/RESOLVED.md, taken by hand, moved by about that share otherwise; no script repeats it.
NO_SIZE = Taper((), ())
SAME_SHAPE, OTHER_PADDLE = 0.10, 0.80
OTHER_SHAPE = 0.30  # of ribbons and claws: judgement, not checked
# Beats of paddles at a speed: a share of the change, and a logarithm that shapes of distance
# ``FAR_APART`` or more leave open however small the change (computed here from open pairs of
# resolved runs, validation/resolved/pairs.py). The model does not know which of two strokes wider.
OF_A_BEAT = {"flap_frequency": (0.5, 0.14), "stroke": (0.87, 0.39)}
FAR_APART = 0.7
IN_A_STREAM = ("start_speed", "start_frequency", "flap_frequency", "stroke")


@dataclass(frozen=True)
class LogLinear:
    """A number as a line of inputs, in logarithms.

    Attributes
    ----------
    middle : float, logarithm half way between the ends of the band
    tilt : float, of the value itself above that, in half widths
    row : dict of float, slope of every input, the number's own among them
    """

    middle: float
    tilt: float
    row: dict[str, float]

    @property
    def width(self) -> float:
        """Half the logarithm of the band."""
        return math.sqrt(sum(slope**2 for slope in self.row.values()))


def own_name(quantity: str, part: str) -> str:
    """Return the name of the input that is a number's own doubt."""
    return f"own {quantity} {part}".rstrip()


def move_key(record: Record) -> tuple[str, str, str, tuple[tuple[str, float | int | str], ...]]:
    """Return the key of a record in `Moves`."""
    return record.scenario, record.part, record.quantity, tuple(record.at.items())


def line_of(record: Record, moves: Moves, case: Case) -> LogLinear | None:
    """Return a record as a line of inputs, None where it is no number above zero with a band."""
    value, low, high = record.value, record.low, record.high
    if not isinstance(value, float) or not isinstance(low, float) or value <= 0.0:
        return None
    top = high if isinstance(high, float) else None
    up = None if top is None else math.log(top / value)
    down = math.log(value / low) if low > 0.0 else up
    if down is None:
        return None
    up = down if up is None else up
    width = 0.5 * (up + down)
    if width <= 0.0:
        return None
    slopes = _split(moves.get(move_key(record), {}), case)
    explained = math.sqrt(sum(slope**2 for slope in slopes.values()))
    if explained > width:
        slopes = {name: slope * width / explained for name, slope in slopes.items()}
        explained = width
    own = math.sqrt(max(0.0, width**2 - explained**2))
    if not (record.quantity in MODEL_ERROR and of_paddle(case, record.part)):
        own = math.hypot(own, OWN_SHARE.get(record.quantity, OTHER_SHARE))
    row = slopes | {own_name(record.quantity, record.part): own}
    return LogLinear(math.log(value) + 0.5 * (up - down), -0.5 * (up - down) / width, row)


def of_paddle(case: Case, part: str) -> bool:
    """Tell whether a part, or the whole of a lobe or pair, is a paddle tail."""
    return any(p.paddle is not None and part.split("/")[0] == p.name for p in case.parts)


def left_open(before: Case, after: Case, quantity: str, change: float) -> float:
    """Return what the model leaves open of a change, as one standard deviation.

    Parameters
    ----------
    before, after : Case, the bait in hand and the other
    quantity : str
    change : float, logarithm of after over before

    Returns
    -------
    width : float, of that logarithm
    """
    paddles = any(part.paddle is not None for part in (*before.parts, *after.parts))
    if paddles and quantity in OF_A_BEAT:
        share, floor = OF_A_BEAT[quantity]
        return math.hypot(
            share * change, floor * min(1.0, shape_distance(before, after) / FAR_APART)
        )
    alike = quantity not in IN_A_STREAM or _shapes(before) == _shapes(after)
    other = OTHER_PADDLE if paddles else OTHER_SHAPE
    return (SAME_SHAPE if alike else other) * abs(change)


def _shapes(case: Case) -> object:
    """Return all of a case that is neither stiffness nor water."""
    parts = [replace(p, thickness=NO_SIZE, density=None) for p in case.parts]
    return parts, case.body


def _split(slopes: dict[str, float], case: Case) -> dict[str, float]:
    """Return slopes with that of the modulus split into the pour and its stiffening in the cold.

    The first is the same in every water, the second grows with the way from 22 degC.
    """
    slope = slopes.get("modulus")
    stated = case.material
    measured = case.profile is not None and "youngs_modulus" in case.profile.values
    if slope is None or stated.youngs_modulus is not None or measured:
        return slopes
    if stated.temperature_slope is not None or not case.parts:
        return slopes
    band = assemble(case).strips[0].inputs["modulus"]
    whole = 0.5 * math.log(band.high / band.low)
    warmer = case.water.temperature - DEFAULTS.reference_temperature
    cold = DEFAULTS.slope_scatter * warmer
    if whole <= abs(cold):
        return slopes
    pour = math.sqrt(whole**2 - cold**2)
    return slopes | {"modulus": slope * pour / whole, COLD: -slope * cold / whole}
