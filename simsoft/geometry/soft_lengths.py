"""Which lengths of a soft body bend: what lies in front of and behind the hooked length.

Held in a stream, a paddle tail does not begin where its stem does. The soft body behind the hook
bends with it, and the two are one rod (``held_part``). No published measurement of such a tail
is known; five invented lures stand beside common practice in ``validation/STUDIES.md``.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simsoft.case.model import BodyInput, Case, HookInput, LoadsInput, Part, Taper
from simsoft.core.arrays import Array
from simsoft.geometry.body import body_stations
from simsoft.geometry.stations import along

UNHOOKED = (0.45, 0.55)  # share of a soft body without a hook that is taken as stiff
SHORTEST = 0.05  # of the body: a shorter free end is taken as stiff
FRONT, BACK = "body/front", "body/back"
SAMPLES = 25  # of the sections of a soft body that bends with a tail
STEP = 1e-6  # of the length: over it the section changes from the body's to the stem's
STRAIGHT = 0.98  # cosine: a tail that leaves the body at a wider angle does not carry it on


def stiff_length(body: BodyInput, hook: HookInput | None) -> tuple[float, float]:
    """Return the ends [m] behind the nose of the length that does not bend.

    The length over the hook, wire makes it stiff; all of a body that is not flexible.
    """
    if not body.flexible:
        return 0.0, body.length
    start, end = (share * body.length for share in UNHOOKED)
    if hook is not None:
        reach = [point[0] for point in hook.path]
        start, end = max(0.0, min(reach)), min(body.length, max(reach))
    start = start if body.stiff_from is None else body.stiff_from
    end = end if body.stiff_to is None else body.stiff_to
    least = SHORTEST * body.length
    if end - start < least:
        middle = min(max(0.5 * (start + end), 0.5 * least), body.length - 0.5 * least)
        start, end = middle - 0.5 * least, middle + 0.5 * least
    return 0.0 if start < least else start, body.length if end > body.length - least else end


def soft_parts(body: BodyInput, hook: HookInput | None) -> list[Part]:
    """Return the lengths of a body that bend, as parts clamped at the ends of the stiff one."""
    start, end = stiff_length(body, hook)
    parts = []
    if start > 0.0:
        parts.append(_soft_part(FRONT, body, start, 0.0))
    if end < body.length:
        parts.append(_soft_part(BACK, body, end, body.length))
    return parts


def _soft_part(name: str, body: BodyInput, start: float, end: float) -> Part:
    shares = np.linspace(0.0, 1.0, 33)
    at = (start + (end - start) * shares) / body.length
    height, width = (
        Taper(tuple(shares), tuple(along(size, at))) for size in (body.height, body.width)
    )
    return Part(
        name=name,
        kind="strip",
        length=abs(end - start),
        width=height,
        thickness=width,
        section=body.section,
        position=(start, 0.0, 0.0),
        direction=(1.0 if end > start else -1.0, 0.0, 0.0),
        width_axis=(0.0, 0.0, 1.0),
        bending="beam",
        loads=LoadsInput(finite_span=False),
    )


def held_part(case: Case, part: Part) -> Part:
    """Return a part as a held lure has it: the soft body behind the hook goes with a paddle tail.

    The soft body becomes the first length of the tail's stem.

    Sections of the body have the body's area and second moment across the kick; ribs, slot and
    fullness count. The tail's own material and density are taken for both.

    Parameters
    ----------
    case : Case, whose body and hook count
    part : Part, or a lobe or a side of one

    Returns
    -------
    Part
        The same one where nothing bends with it: no soft body behind the hook, no straight
        paddle tail, or a root that does not sit on the body's end.
    """
    body = case.body
    if body is None or not _goes_on(part, body):
        return part
    start = stiff_length(body, None if case.rig is None else case.rig.hook)[1]
    ahead = part.position[0] - start
    if ahead <= 0.0:
        return part
    length = ahead + part.length
    place = np.linspace(start, min(part.position[0], body.length), SAMPLES)
    thick, wide = _sections(part, body, place)
    shares = (place - start) / length
    shares[-1] = ahead / length - STEP
    return replace(
        part,
        length=length,
        soft_ahead=ahead,
        position=(start, *part.position[1:]),
        width=_joined(part.width, shares, wide, ahead, length),
        thickness=_joined(part.thickness, shares, thick, ahead, length),
    )


def thickness_at_joint(part: Part) -> tuple[float, float]:
    """Return the thickness [m] in which a soft body ends and that with which the stem begins."""
    joint = part.soft_ahead / part.length - 0.5 * STEP
    before = sum(share < joint for share in part.thickness.stations)
    return part.thickness.values[before - 1], part.thickness.values[before]


def stiff_front(body: BodyInput, end: float) -> BodyInput:
    """Return a body cut off at ``end`` [m] behind the nose: what is left when the rest bends."""
    if end >= body.length:
        return body
    shares = np.linspace(0.0, 1.0, SAMPLES)
    place = shares * end / body.length
    height, width = (
        Taper(tuple(map(float, shares)), tuple(map(float, along(size, place))))
        for size in (body.height, body.width)
    )
    slot_from, slot_to = min(body.slot_from, end), min(body.slot_to, end)
    return replace(
        body, length=end, height=height, width=width, slot_from=slot_from, slot_to=slot_to
    )


def _goes_on(part: Part, body: BodyInput) -> bool:
    """Return whether a part carries a soft body's line on: a straight paddle tail at its end."""
    if part.paddle is None or not body.flexible or part.arc_angle or part.set_angle:
        return False
    x, y, z = part.position
    end = min(x, body.length)
    height, width = (
        float(along(size, np.array([end / body.length]))[0]) for size in (body.height, body.width)
    )
    on_end = end > (1.0 - SHORTEST) * body.length
    return (
        on_end and abs(y) <= 0.5 * width and abs(z) <= 0.5 * height and part.direction[0] > STRAIGHT
    )


def _sections(part: Part, body: BodyInput, place: Array) -> tuple[Array, Array]:
    """Return thickness and width [m] of sections of the part's kind that stand for the body's."""
    stations = body_stations(body)
    area = np.interp(place, stations.x, stations.area)
    second = np.interp(place, stations.x, stations.second_z)
    if part.section == "ellipse":
        thick = np.sqrt(16.0 * second / area)
        return thick, 4.0 * area / (np.pi * thick)
    thick = np.sqrt(12.0 * second / area)
    return thick, area / thick


def _joined(stem: Taper, shares: Array, values: Array, ahead: float, length: float) -> Taper:
    """Return the sizes [m] of the body's sections, then those of the stem, along both."""
    own = [(ahead + share * (length - ahead)) / length for share in stem.stations]
    return Taper((*map(float, shares), *own), (*map(float, values), *stem.values))
