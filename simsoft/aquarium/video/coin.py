"""The scale of a picture by a coin of known diameter, and the camera's tilt by its roundness."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from simsoft.aquarium.video.facing import Tilt
from simsoft.core.errors import InputError

SMALLEST = 12.0  # px, of a coin's diameter
FULL = (0.97, 1.03)  # area over that of the ellipse of its moments, of what is round
EDGE = 0.7  # px, picking the rim at half contrast, one sigma of a diameter
ROUND = "the coin looks shorter one way"


def coin_scale(
    picture: npt.NDArray[np.uint8], place: tuple[float, float], diameter: float
) -> tuple[float, float, Tilt]:
    """Return scale [m/px], its relative u, and the tilt that the coin's outline tells.

    Parameters
    ----------
    picture : array (H, W) of uint8
    place : pair of float [px], column and row somewhere on the coin
    diameter : float [m]

    Notes
    -----
    A disc seen at an angle is an ellipse whose long axis is the disc's diameter. Axes come from
    the second moments of the filled outline, which an engraved face does not change.

    Raises
    ------
    InputError
        Nothing round stands out there, or the diameter is not positive.
    """
    height, width = picture.shape
    column, row = round(place[0]), round(place[1])
    if not diameter > 0.0:
        raise InputError("a diameter above zero is needed")
    if not (0 <= column < width and 0 <= row < height):
        raise InputError("the point lies outside the picture")
    grey = ndimage.gaussian_filter(picture.astype(float), 1.0)
    around = float(np.median(grey))
    away = np.abs(grey - around)
    inside = float(np.median(away[max(0, row - 2) : row + 3, max(0, column - 2) : column + 3]))
    labels, _ = ndimage.label(away > 0.5 * inside)
    if inside < 10.0 or labels[row, column] == 0:
        raise InputError("no coin stands out there from what is around it")
    solid = ndimage.binary_fill_holes(labels == labels[row, column])
    rows, columns = np.nonzero(solid)
    if (
        min(rows.min(), columns.min()) == 0
        or rows.max() == height - 1
        or columns.max() == width - 1
    ):
        raise InputError("what lies there reaches the rim of the picture; a whole coin is needed")
    small, large = np.sqrt(np.linalg.eigvalsh(np.cov(columns, rows, bias=True))) * 4.0
    share = len(rows) / (0.25 * math.pi * small * large)
    if large < SMALLEST or not FULL[0] <= share <= FULL[1] or large > 2.0 * small:
        raise InputError("what lies there is not round; a coin on a plain background is needed")
    ratio = (large / small) ** 2
    u = EDGE / large
    return (
        diameter / large,
        u,
        Tilt(ratio - 1.0, ratio - 1.0, 2.0 * ratio * math.hypot(u, u), ROUND),
    )
