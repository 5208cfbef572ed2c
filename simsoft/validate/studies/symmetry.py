"""Study: mirrored, scaled and turned cases, which must not change the answer."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from simsoft.case.model import Case, MaterialInput, PaddleInput, Part, Taper, Tolerance, Vector
from simsoft.core.arrays import Array
from simsoft.lure.parts import THICKNESS_SCATTER
from simsoft.validate.studies.tools import Solved, demo, only, solve_cases, table, table_number

SCALE = 2.0
TURN = (0.7, -1.1, 0.4)  # [rad] rotation vector of the turned cases, any will do
MATERIAL = MaterialInput(youngs_modulus=150e3, density=1025.0, loss_factor=0.16)
SPEEDS = {"paddle_100": 0.5, "ribbon_150": 0.6, "curl_grub_75": 0.35, "claw_95": 0.4}
SCALARS = ("start_speed", "start_frequency", "flap_frequency", "stroke", "fold_back", "drag")
NOTHING = 1.0e-12  # what counts as zero beside the sizes of a lure, SI
RIGHT_ANGLE = 90.0  # [deg] what angles are compared with: a mean fold near zero has no share


@dataclass(frozen=True)
class Pair:
    """One quantity of a case and of its changed twin, which is expected to follow it.

    Attributes
    ----------
    case, change, quantity : str
    plain, twin : float or None
    expected : float or None, what the change makes of ``plain``
    """

    case: str
    change: str
    quantity: str
    plain: float | None
    twin: float | None
    expected: float | None

    @property
    def difference(self) -> float:
        """Relative difference of twin and expectation, of an angle as a share of a right angle.

        Infinite where one is missing alone.
        """
        if self.twin is None or self.expected is None:
            return 0.0 if self.twin is self.expected else math.inf
        whole = RIGHT_ANGLE if self.quantity == "fold_back" else abs(self.expected)
        return abs(self.twin - self.expected) / max(whole, NOTHING)


@dataclass(frozen=True)
class Twin:
    """A case with its changed twin.

    Attributes
    ----------
    name, change : str
    plain, changed : Case
    speed : float [m/s]
    turn : array (3, 3), what the change does to positions, without the scale
    scale : float, of lengths
    own : array (3, 3), a symmetry of the plain case itself: a part that turns aside to one of
        two like sides may choose either
    """

    name: str
    change: str
    plain: Case
    changed: Case
    speed: float
    turn: Array
    scale: float = 1.0
    own: Array = field(default_factory=lambda: np.eye(3))


def study() -> list[Pair]:
    """Run all twins."""
    twins = [*_mirrored(), *_scaled(), *_turned()]
    runs = solve_cases([case for twin in twins for case in (twin.plain, twin.changed)])
    return [
        pair
        for twin, plain, changed in zip(twins, runs[::2], runs[1::2], strict=True)
        for pair in _compare(twin, plain, changed)
    ]


def _compare(twin: Twin, plain: Solved, changed: Solved) -> list[Pair]:
    """Return the pairs of scalars and of the rest position of the tip."""
    powers = {"start_frequency": -1, "flap_frequency": -1, "stroke": 1, "drag": 2}
    pairs = []
    for quantity in SCALARS:
        at = {} if quantity.startswith("start") else {"speed": twin.speed}
        one, other = plain.number(quantity, **at), changed.number(quantity, **at)
        factor = twin.scale ** powers.get(quantity, 0)
        expected = None if one is None else factor * one
        pairs.append(Pair(twin.name, twin.change, quantity, one, other, expected))
    start, end = (
        np.asarray(run.point("tip_position", speed=twin.speed, state="rest"), dtype=float)
        for run in (plain, changed)
    )
    gap = min(
        float(np.linalg.norm(end - twin.scale * (side @ start)) / np.linalg.norm(end))
        for side in (twin.turn, twin.turn @ twin.own)
    )
    pairs.append(Pair(twin.name, twin.change, "tip at rest", 1.0, 1.0 + gap, 1.0))
    return pairs


def _weightless(name: str) -> Case:
    """Return a demo case without gravity, with an explicit modulus, at one speed."""
    case = only(demo(name), "retrieve", speeds=(SPEEDS[name],), gravity=False)
    return replace(case, material=MATERIAL)


# --- mirrors ---------------------------------------------------------------------------------


def _mirrored() -> list[Twin]:
    """Return twins mirrored in the plane z = 0; an arc, a splay and an offset turn over."""
    mirror = np.diag([1.0, 1.0, -1.0])
    twins = []
    for name in ("paddle_100", "curl_grub_75", "claw_95"):
        plain = _weightless(name)
        part = plain.parts[0]
        changed = replace(plain, parts=(_mirrored_part(part),))
        twin = Twin(name, "mirrored", plain, changed, SPEEDS[name], mirror)
        flat_sickle = part.curl == "in-plane" and part.arc_angle != 0.0
        twins.append(replace(twin, own=np.diag([1.0, -1.0, 1.0])) if flat_sickle else twin)
    return twins


def _mirrored_part(part: Part) -> Part:
    x, y, z = part.direction
    paddle = part.paddle
    if paddle is not None:
        paddle = replace(paddle, angle=math.pi - paddle.angle, offset=-paddle.offset)
    return replace(part, direction=(x, y, -z), arc_angle=-part.arc_angle, paddle=paddle)


# --- scale -----------------------------------------------------------------------------------


def _scaled() -> list[Twin]:
    twins = []
    for name in ("paddle_100", "ribbon_150"):
        plain = replace(_weightless(name), tolerance=Tolerance(thickness=THICKNESS_SCATTER))
        changed = replace(
            plain,
            parts=tuple(_scaled_part(part, SCALE) for part in plain.parts),
            tolerance=Tolerance(thickness=SCALE * THICKNESS_SCATTER),
        )
        twins.append(
            Twin(name, f"{SCALE:g} times as large", plain, changed, SPEEDS[name], np.eye(3), SCALE)
        )
    return twins


def _scaled_part(part: Part, scale: float) -> Part:
    paddle = part.paddle
    if paddle is not None:
        paddle = PaddleInput(
            paddle.shape,
            scale * paddle.width,
            scale * paddle.height,
            scale * paddle.thickness,
            paddle.angle,
            scale * paddle.offset,
        )
    return replace(
        part,
        length=scale * part.length,
        width=_scaled_taper(part.width, scale),
        thickness=_scaled_taper(part.thickness, scale),
        position=_moved(part.position, lambda v: scale * v),
        paddle=paddle,
    )


def _scaled_taper(taper: Taper, scale: float) -> Taper:
    return Taper(taper.stations, tuple(scale * value for value in taper.values))


# --- frame -----------------------------------------------------------------------------------


def rotation(vector: Vector) -> Array:
    """Return the rotation matrix (3, 3) of a rotation vector [rad] by Rodrigues' formula."""
    angle = math.hypot(*vector)
    x, y, z = (component / angle for component in vector)
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    turn = np.eye(3) + math.sin(angle) * cross + (1.0 - math.cos(angle)) * (cross @ cross)
    return np.asarray(turn)


def _turned() -> list[Twin]:
    turn = rotation(TURN)
    twins = []
    for name, speed in SPEEDS.items():
        plain = _weightless(name)
        parts = tuple(
            replace(
                part,
                direction=_moved(part.direction, lambda v: turn @ v),
                width_axis=_moved(part.width_axis, lambda v: turn @ v),
                position=_moved(part.position, lambda v: turn @ v),
            )
            for part in plain.parts
        )
        scenarios = tuple(
            replace(s, stream_direction=_moved(s.stream_direction, lambda v: turn @ v))
            for s in plain.scenarios
        )
        changed = replace(plain, parts=parts, scenarios=scenarios)
        twins.append(Twin(name, "turned", plain, changed, speed, turn))
    return twins


def _moved(vector: Vector, how: Callable[[Array], Array]) -> Vector:
    x, y, z = (float(component) for component in how(np.array(vector)))
    return x, y, z


# --- table -----------------------------------------------------------------------------------


def section(pairs: Sequence[Pair]) -> str:
    """Return the study as Markdown."""
    worst = max(pairs, key=lambda pair: pair.difference)
    rows = []
    for pair in pairs:
        plain = "" if pair.quantity == "tip at rest" else table_number(pair.plain, 5)
        twin = "" if pair.quantity == "tip at rest" else table_number(pair.twin, 5)
        rows.append(
            [f"{pair.case} {pair.change}", pair.quantity, plain, twin, f"{pair.difference:.1e}"]
        )
    head = ["case", "quantity", "plain", "twin", "difference"]
    return (
        "## Mirrors, scale and frame\n\n"
        f"Demo cases without gravity, {1e-3 * (MATERIAL.youngs_modulus or 0.0):g} kPa and loss "
        f"factor {MATERIAL.loss_factor:g}. The mirror is the plane z = 0: splay, arc and offset "
        f"turn over. Everything {SCALE:g} times as large must leave speeds and angles, double "
        "the stroke and halve the frequencies. A turned case has its part and its stream turned "
        "together. A sickle turns aside to either side, which counts as the same. The difference "
        "is relative to what the change must give, for the tip at rest the distance over the "
        f"length. The largest is {worst.difference:.1e} "
        f"({worst.case} {worst.change}, {worst.quantity}).\n\n"
        f"{table(head, rows)}\n"
    )
