"""From a strip of the lure to a job: its rod, and the solids that its sections are in the flow."""

from __future__ import annotations

import math

import numpy as np

from simsoft.case.model import BodyInput, PaddleInput
from simsoft.core.arrays import Array
from simsoft.geometry.stations import along, cut
from simsoft.lure.parts import Specimen, Strip
from simsoft.lure.rod_model import build_rod, with_material
from simsoft.mechanics.rod import Rod
from simsoft.mechanics.rotation import quaternion_from_vector
from simsoft.properties.water import Water
from simsoft.resolved.job import Job
from simsoft.resolved.pieces import CLAMP, Pieces, form, no_pieces, with_body, with_piece
from simsoft.resolved.solids import BOX, DISC

JOINT = 0.15  # of the thickness, by which a section's solid reaches into its neighbours
EDGE = 0.25  # of a paddle's thickness, rounding of its rim
KICK = 0.05  # of the stream's speed: sideways speed of the tip when it is let go
BODY_ROWS = 41
BEAT = 0.2  # [U/D]


def section_solids(strip: Strip, rod: Rod, values: dict[str, float]) -> Pieces:
    """Return one solid for the length of rod that belongs to each node, and the clamp's half."""
    part = strip.part
    n = len(rod.length)
    stations = cut(part, n, values["thickness"], values.get("set_fraction", 0.0))
    kind = DISC if part.section == "ellipse" else BOX
    pieces = no_pieces()
    half = 0.5 * float(rod.length[0])
    root = (float(stations.root_thickness), float(stations.root_width))
    held = rod.root + rod.frame @ np.array([0.0, 0.0, 0.5 * half])
    pieces = with_piece(pieces, _section(kind, *root, half), CLAMP, held, rod.frame)
    for k in range(n):
        size = float(stations.node_thickness[k]), float(stations.node_width[k])
        last = k == n - 1
        span = 0.5 * float(rod.length[k]) if last else float(rod.length[k])
        offset = np.array([0.0, 0.0, -0.5 * span if last else 0.0])
        pieces = with_piece(pieces, _section(kind, *size, span), k, offset, np.eye(3))
    return pieces


def _section(kind: int, thickness: float, width: float, span: float) -> Array:
    reach = 0.5 * span + JOINT * thickness
    return np.array(form(kind, 0.5 * thickness, 0.5 * width, reach, JOINT * thickness))


def paddle_solid(paddle: PaddleInput) -> Array:
    """Return the solid of a paddle in its own axes: kick, upright, normal."""
    kind = DISC if paddle.shape == "disc" else BOX
    half = 0.5 * paddle.thickness
    return np.array(
        form(kind, 0.5 * paddle.width, 0.5 * paddle.height, half, EDGE * paddle.thickness)
    )


def body_sections(body: BodyInput) -> tuple[Array, Array, Array]:
    """Return half width, half height and height of the middle [m] of a body, nose to tail."""
    at = np.linspace(0.0, 1.0, BODY_ROWS)
    return 0.5 * along(body.width, at), 0.5 * along(body.height, at), np.zeros(BODY_ROWS)


def tail_job(
    strip: Strip,
    surrounding: Water,
    values: dict[str, float],
    *,
    speed: float,
    modulus: float,
    damping_time: float,
    gravity: bool = True,
    body: BodyInput | None = None,
    elements: int | None = None,
    kick: float = KICK,
) -> Job:
    """Return the job of a strip held at its root in a stream along x.

    Parameters
    ----------
    strip : Strip, solved as a rod, with or without a paddle
    surrounding : Water
    values : dict, input values by name
    speed : float [m/s], of the stream; in still water zero
    modulus : float [Pa] and damping_time : float [s], of the material as the beat feels it
    gravity : bool
    body : BodyInput or None, stiff and rigid with the clamp, where one stands ahead
    elements : int, default the strip's own
    kick : float, sideways speed of the tip at the release over the stream's
    """
    rod = with_material(
        build_rod(Specimen(strip, surrounding, values, gravity=gravity, elements=elements)),
        modulus,
        damping_time,
    )
    pieces = section_solids(strip, rod, values)
    size = 2.0 * float(np.max(pieces.forms[:, 2]))
    paddle = strip.part.paddle
    if paddle is not None:
        last = len(rod.length) - 1
        pieces = with_piece(pieces, paddle_solid(paddle), last, rod.paddle.centre, rod.paddle.axes)
        size = math.sqrt(paddle.width * paddle.height)
    if body is not None:
        nose = rod.root - np.array([body.length, 0.0, 0.0])
        pieces = with_body(pieces, nose, *body_sections(body), body.length)
    n = len(rod.length)
    shape = np.zeros((n, 4))
    for k in range(n):
        quaternion_from_vector(rod.natural[k], shape[k])
    rate = np.zeros((n, 3))
    arm = float(rod.length.sum())
    rate[0, 1] = kick * speed / arm
    return Job(
        name=strip.name,
        pieces=pieces,
        rod=rod,
        shape=shape,
        rate=rate,
        forced=None,
        speed=speed,
        pace=speed,
        size=size,
        density=surrounding.density,
        viscosity=surrounding.viscosity / surrounding.density,
        centre=rod.root,
        ramp=np.zeros((0, 2)),
    )


def beat_guess(strip: Strip, speed: float) -> float:
    """Return a beat [Hz] at a speed [m/s] at which the material is taken: a fifth of U/D.

    Resolved paddles beat at 0.15 to 0.3 U/D (``validation/RESOLVED.md``); modulus and damping
    change by some per cent over that range.
    """
    paddle = strip.part.paddle
    size = max(strip.part.width.values)
    if paddle is not None:
        size = math.sqrt(paddle.width * paddle.height)
    return BEAT * speed / size
