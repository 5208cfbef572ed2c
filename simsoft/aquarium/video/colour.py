"""Pictures of one colour: how near each pixel is to the colour of a dot, as grey."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

# Full red, green and blue of each colour a dot may have.
COLOURS = {
    "red": (255, 0, 0),
    "orange": (255, 128, 0),
    "yellow": (255, 255, 0),
    "green": (0, 200, 0),
    "blue": (0, 0, 255),
    "pink": (255, 0, 160),
}
# Chroma of ITU-R BT.601 (from memory): blue and red less luminance, which no lamp's level changes.
CHROMA = np.array([[-0.169, -0.331, 0.5], [0.5, -0.419, -0.081]])


def closeness(picture: npt.NDArray[np.uint8], colour: str) -> npt.NDArray[np.uint8]:
    """Return how near pixels come to a colour, 0 to 255.

    Parameters
    ----------
    picture : array (H, W, 3) of uint8, red, green, blue
    colour : str, one of COLOURS
    """
    wanted = CHROMA @ np.array(COLOURS[colour], dtype=float)
    along = wanted / np.hypot(*wanted)
    chroma = picture.astype(np.float32) @ CHROMA.T.astype(np.float32)
    towards = chroma @ along
    aside = np.abs(chroma @ np.array([-along[1], along[0]]))
    return np.asarray(np.clip(2.0 * (towards - aside), 0.0, 255.0).astype(np.uint8))
