"""Pictures to check a measured clip by eye: the tip marked on every frame."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from simsoft.aquarium.video.encoder import best_encoder
from simsoft.aquarium.video.film import Film
from simsoft.core.files import whole_file

MARK = (255, 120, 20)  # of the tip
LINE = (30, 160, 150)  # of the kymograph's column
TRAIL = 12  # frames of the tip's path shown
MOST_FRAMES = 900
RATE = 30  # frames per second it plays at


def write_overlay(film: Film, path: str | Path) -> Path:
    """Write an MP4 of the clip, turned so that the tail points right, with the tip marked.

    The tip's last positions are dots, the tip itself a ring, the kymograph's column a line with
    the tail's row on it. It plays at 30 frames a second whatever the clip's rate, at most 900
    frames.
    """
    import av

    frames = film.scene.frames[:MOST_FRAMES]
    height, width = (size - size % 2 for size in frames.shape[1:])
    with whole_file(path) as temporary, av.open(str(temporary), "w", format="mp4") as container:
        codec = best_encoder()
        stream: Any = container.add_stream(codec, rate=RATE)
        stream.width, stream.height, stream.pix_fmt = width, height, "yuv420p"
        if codec == "libx264":
            stream.options = {"crf": "23", "preset": "veryfast"}
        for i in range(len(frames)):
            picture = marked(film, i)[:height, :width]
            frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(picture), format="rgb24")
            for packet in stream.encode(frame):
                container.mux(packet)
        for packet in stream.encode():
            container.mux(packet)
    return Path(path)


def marked(film: Film, i: int) -> npt.NDArray[np.uint8]:
    """Return frame ``i`` as an RGB picture (H, W, 3) with what was found drawn on it."""
    picture = np.repeat(film.scene.frames[i][:, :, None], 3, axis=2)
    tips = film.tips
    if tips is None:
        return picture
    picture[::3, tips.column] = LINE
    _dot(picture, tips.column, tips.line[i], 2, LINE)
    for k in range(max(0, i - TRAIL), i):
        _dot(picture, tips.tip[k, 0], tips.tip[k, 1], 1, MARK)
    if tips.confidence[i] > 0.5:
        _ring(picture, tips.tip[i, 0], tips.tip[i, 1], 6, MARK)
    return picture


def _dot(
    picture: npt.NDArray[np.uint8], x: float, y: float, size: int, colour: tuple[int, int, int]
) -> None:
    if not (np.isfinite(x) and np.isfinite(y)):
        return
    column, row = round(float(x)), round(float(y))
    picture[max(0, row - size) : row + size + 1, max(0, column - size) : column + size + 1] = colour


def _ring(
    picture: npt.NDArray[np.uint8], x: float, y: float, radius: int, colour: tuple[int, int, int]
) -> None:
    for angle in np.linspace(0.0, 2.0 * np.pi, 48):
        _dot(picture, x + radius * np.cos(angle), y + radius * np.sin(angle), 0, colour)
