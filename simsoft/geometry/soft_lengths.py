"""Which lengths of a soft body bend: what lies in front of and behind the hooked length."""

from __future__ import annotations

import numpy as np

from simsoft.case.model import BodyInput, HookInput, LoadsInput, Part, Taper
from simsoft.geometry.stations import along

UNHOOKED = (0.45, 0.55)  # share of a soft body without a hook that is taken as stiff
SHORTEST = 0.05  # of the body: a shorter free end is taken as stiff
FRONT, BACK = "body/front", "body/back"


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
