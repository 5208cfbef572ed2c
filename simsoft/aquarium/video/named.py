"""The dot that a maker names in words: its place in the first frame, or its colour."""

from __future__ import annotations

import re

from simsoft.aquarium.video.clip import Clip, read_clip
from simsoft.aquarium.video.colour import COLOURS
from simsoft.aquarium.video.dot import DotPath, follow_dot
from simsoft.case.wording import given
from simsoft.core.errors import InputError

_PLACE = re.compile(r"(\d+(?:\.\d+)?)(?:\s*,\s*|\s+)(\d+(?:\.\d+)?)")


def named_dot(
    path: str,
    clip: Clip,
    words: str,
    region: tuple[int, int, int, int] | None = None,
    rate: float | None = None,
) -> DotPath | None:
    """Return the path of the dot that was named, None where none was.

    Parameters
    ----------
    path : str, of the clip
    clip : Clip, as it was read
    words : str, ``X,Y`` in pixels of the file's first frame, or a colour; '' for no dot
    region, rate : as the clip was read with

    Raises
    ------
    InputError
        The words are neither, or no dot stands out there.
    """
    if not words:
        return None
    match = _PLACE.fullmatch(words.strip())
    if match is None and words not in COLOURS:
        raise InputError(
            f'--point is {given(words)}; X,Y in the first frame is needed, such as "212,130", or '
            f"a colour: {', '.join(COLOURS)}"
        )
    try:
        if match is None:
            seen = read_clip(path, region=region, recorded_rate=rate, colour=words)
            return follow_dot(seen.frames, None, bright=True)
        x, y = ((float(match[i + 1]) - clip.origin[i]) / clip.shrink for i in (0, 1))
        return follow_dot(clip.frames, (x, y))
    except InputError as problem:
        raise InputError(f"{clip.name}: --point is {given(words)}; {problem.problems[0]}") from None
