"""A soft part let go in the air of a cast: followed as a rod, a plate, or a plate on its stem.

Whatever it is, it is followed in the same way: from its moulded shape, damped, for a quarter of a
second or until it lies against the body, with finer and finer steps until it can be followed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from simsoft.bodies.clearance.gap import Placed, in_motion, past_root, placed_rod, unit_vectors
from simsoft.bodies.paddle.equilibrium import StemRest
from simsoft.bodies.paddle.setup import prepare_stem
from simsoft.bodies.paddle.time_march import follow_stem
from simsoft.bodies.plate.time_march import follow_plate
from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.bodies.rod.setup import prepare_rod
from simsoft.bodies.rod.stepper import ENERGY_TERMS, HISTORY_COLUMNS, advance
from simsoft.case.model import BodyInput, Part
from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.geometry.bare_wire import covered
from simsoft.lure.parts import PLATE_ELEMENTS, Specimen, Strip
from simsoft.lure.plate_model import build_plate
from simsoft.mechanics.rod import Rod
from simsoft.mechanics.rotation import quaternion_from_vector
from simsoft.properties.water import Water
from simsoft.scenarios.hold.plate import placed_plate

DAMPING = 0.05  # [s] Kelvin-Voigt time that calms its flapping
SAMPLES, SAMPLE = 200, 1.25e-3  # positions, time between them [s]
ROD_ELEMENTS = 16  # of a part blown about; a coarser rod serves, the shapes are smooth
FEWEST = 6  # elements along a plate, so that half as many still bend
CELLS = 90  # at most about as many elements of a plate: what a step costs grows with their cube
ROD_STEPS = (2, 4, 8, 16)  # from position to position, until a part can be followed
PLATE_STEPS = (2, 4, 8)  # the same of a plate
LEAP = 1.0e-3  # [m] that no station moves farther from a position to the next one looked at


@dataclass(frozen=True)
class LetGo:
    """A part ready to be let go in the air.

    Attributes
    ----------
    model : str, what it is followed as
    rod : Rod or None, for clearance and drawings; None for a plate
    moulded : Placed, the one position it is let go in
    steps : tuple of int, from position to position, tried in turn
    leap : float [m], that no station moves farther from one position looked at to the next
    follow : function of the unit vector (3,) the air blows along and the steps from position to
        position; yields the positions, raises SolveError where the part cannot be followed
    """

    model: str
    rod: Rod | None
    moulded: Placed
    steps: tuple[int, ...]
    leap: float
    follow: Callable[[Array, int], Iterator[Placed]]


QUIET = {"rim_force": 0.0, "force_growth": 0.0, "wake_moment": 0.0}  # no wake is dragged along


def ready_to_go(
    strip: Strip, fluid: Water, values: dict[str, float], speed: float, *, coarse: bool = False
) -> LetGo:
    """Return a strip ready to be let go in air.

    Parameters
    ----------
    strip : Strip
    fluid : Water, the air
    values : dict of input values
    speed : float [m/s], of the air
    coarse : bool, half the elements and positions and, of a rod, steps, for the runs behind the
        bands
    """
    kinds = {"rod": _rod, "plate": _plate, "paddle": _stem}
    return kinds[strip.solved_as](strip, fluid, values | QUIET, speed, 2 if coarse else 1)


def _rod(strip: Strip, fluid: Water, values: dict[str, float], speed: float, coarser: int) -> LetGo:
    ready = prepare_rod(
        Specimen(strip, fluid, values, gravity=False, elements=ROD_ELEMENTS // coarser)
    )
    rod = ready.resting_rod()._replace(kelvin_voigt=DAMPING)

    def follow(side: Array, steps: int) -> Iterator[Placed]:
        yield followed_rod(rod, speed, side, steps, coarser)

    return LetGo("a rod", rod, placed_rod(rod, rod.natural), ROD_STEPS, coarser * LEAP, follow)


def _plate(
    strip: Strip, fluid: Water, values: dict[str, float], speed: float, coarser: int
) -> LetGo:
    elements = plate_elements(strip.part) // coarser
    model = build_plate(Specimen(strip, fluid, values, gravity=False, elements=elements))

    def follow(side: Array, steps: int) -> Iterator[Placed]:
        return follow_plate(
            model, model.plate, values["modulus"], DAMPING, make_stream(speed, side), model.state,
            step=coarser * SAMPLE / steps, stride=steps, samples=SAMPLES // coarser,
        )  # fmt: skip

    told = f"a plate of {elements} elements along"
    return LetGo(
        told, None, placed_plate(model, model.state), _plate_steps(coarser), coarser * LEAP, follow
    )


def plate_elements(part: Part) -> int:
    """Return the elements along a plate blown about: as in water, or fewer where it is wide."""
    share = max(part.width.values) / part.length
    return min(PLATE_ELEMENTS, max(FEWEST, 2 * int(0.5 * math.sqrt(CELLS / share))))


def _stem(
    strip: Strip, fluid: Water, values: dict[str, float], speed: float, coarser: int
) -> LetGo:
    ready = prepare_stem(
        Specimen(strip, fluid, values, gravity=False, elements=ROD_ELEMENTS // coarser)
    )
    bends = ready.resting()
    bends = bends._replace(rod=bends.rod._replace(kelvin_voigt=DAMPING))
    start = StemRest(bends.rod.natural, bends.model.local, True)

    def follow(side: Array, steps: int) -> Iterator[Placed]:
        return follow_stem(
            bends, DAMPING, make_stream(speed, side), start,
            step=coarser * SAMPLE / steps, stride=steps, samples=SAMPLES // coarser,
        )  # fmt: skip

    rod = ready.stiff.rod
    told = "a paddle that bends on its stem"
    return LetGo(
        told, rod, placed_rod(rod, rod.natural), _plate_steps(coarser), coarser * LEAP, follow
    )


def _plate_steps(coarser: int) -> tuple[int, ...]:
    """Return the steps from position to position; longer ones would need more corrections each."""
    return tuple(coarser * steps for steps in PLATE_STEPS)


def followed_rod(rod: Rod, speed: float, side: Array, steps: int, coarser: int = 1) -> Placed:
    """Return all positions of a rod let go in its moulded shape.

    Parameters
    ----------
    rod : Rod in air, heavily damped
    speed : float [m/s]
    side : array (3,), unit vector the air blows along
    steps : int, from position to position
    coarser : int, positions so many times as far apart

    Raises
    ------
    SolveError
        If the march diverges.
    """
    n = len(rod.length)
    quaternion = np.zeros((n, 4))
    for k in range(n):
        quaternion_from_vector(rod.natural[k], quaternion[k])
    count, step = SAMPLES // coarser, coarser * SAMPLE / steps
    history, shapes = np.zeros((count, HISTORY_COLUMNS)), np.zeros((count, n, 6))
    done = advance(
        rod, make_stream(speed, side), step, count * steps, steps, False,
        quaternion, np.zeros((4, n, 6)), np.zeros(2), np.zeros((2, ENERGY_TERMS)), history, shapes,
    )  # fmt: skip
    if done < count * steps or not np.all(np.isfinite(shapes)):
        raise SolveError(f"the march diverged at {done * step:.3f} s")
    return in_motion(rod, shapes[:, :, :3], shapes[:, :, 3:], history[:, 3:6])


def watched(part: LetGo, side: Array, body: BodyInput | None, root: float) -> Placed | None:
    """Return the positions of a part blown from a side until it lies against the body.

    Parameters
    ----------
    part : LetGo
    side : array (3,), unit vector the air blows along
    body : BodyInput or None
    root : float [m], length at the root that may lie where it likes

    Returns
    -------
    place : Placed, the moulded shape first, or None where the part could not be followed
    """
    for steps in part.steps:
        try:
            kept = before_the_body(part.moulded, part.follow(side, steps), body, root)
        except SolveError:
            continue
        return densely(kept, part.leap)
    return None


def before_the_body(
    moulded: Placed, positions: Iterable[Placed], body: BodyInput | None, root: float
) -> Placed:
    """Return the positions, the moulded one first, before a centreline runs into the body.

    What follows is not asked for. Stations that sit in the body as moulded, and the root, do not
    count.

    Parameters
    ----------
    moulded : Placed, one position
    positions : iterable of Placed, in the order of time
    body : BodyInput or None
    root : float [m], length at the root that is left out
    """
    line = np.linalg.norm(np.diff(moulded.centre[0], axis=0), axis=1)
    held = root * len(line) / float(line.sum())
    outside = ~in_body(moulded.centre, body, held)[0]
    kept = [moulded]
    for place in positions:
        met = (in_body(place.centre, body, held) & outside).any(axis=1)
        end = int(np.argmax(met)) if met.any() else len(met)
        kept.append(Placed(place.centre[:end], place.width_axis[:end], place.tangent[:end]))
        if end < len(met):
            break
    return Placed(
        np.concatenate([place.centre for place in kept]),
        np.concatenate([place.width_axis for place in kept]),
        np.concatenate([place.tangent for place in kept]),
    )


def densely(place: Placed, leap: float) -> Placed:
    """Return positions with others put between them, straight on the way from each to the next.

    A tip that flaps in the air moves millimetres from one position to the next: a hook would slip
    through in between.
    """
    way = np.linalg.norm(np.diff(place.centre, axis=0), axis=2).max(axis=1)
    counts = np.maximum(1, np.ceil(way / leap)).astype(int)
    first = np.repeat(np.arange(len(way)), counts)
    begun = np.cumsum(counts) - counts
    share = ((np.arange(len(first)) - begun[first]) / counts[first])[:, None, None]

    def between(values: Array) -> Array:
        inner = values[first] + share * (values[first + 1] - values[first])
        return np.concatenate([inner, values[-1:]])

    axis, tangent = between(place.width_axis), between(place.tangent[:, None])
    return Placed(between(place.centre), unit_vectors(axis), unit_vectors(tangent)[:, 0])


def in_body(centre: Array, body: BodyInput | None, root: float) -> npt.NDArray[np.bool_]:
    """Return which stations (F, M) past the root of centrelines (F, N + 1, 3) lie in the body.

    ``root`` is in elements, see ``clearance.past_root``; at most half of the length is left out.
    """
    free = past_root(centre, min(root, 0.5 * (centre.shape[-2] - 1)))
    if body is None:
        return np.zeros(free.shape[:2], dtype=bool)
    return covered(body, free.reshape(-1, 3)).reshape(free.shape[:2])
