"""Scale of a picture: a known length in it, corrected for a marker out of the lure's plane."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from simsoft.aquarium.measured import Flag
from simsoft.aquarium.video.facing import Tilt
from simsoft.core.errors import InputError

WATER_INDEX = 1.333  # refractive index of fresh water at 20 degC (from memory)
APART = 0.05  # relative, scales of two markers from which the camera is not square
ACROSS = 0.87  # sine of the angle between two markers from which they are across each other
CROSS = "the marker across the other looks shorter"
READING = 1.0  # px, a marker's end picked by hand, one sigma


def scale_of_points(
    first: tuple[float, float], second: tuple[float, float], length: float
) -> tuple[float, float]:
    """Return the scale [m/px] of two points a known length apart, and its relative u.

    Raises
    ------
    InputError
        The points are less than ten pixels apart or the length is not positive.
    """
    pixels = math.dist(first, second)
    if pixels < 10.0 or not length > 0.0:
        raise InputError(
            f"the marker's ends are {pixels:.1f} px and {1e3 * length:g} mm apart; 10 px or more "
            "and a length above zero are needed"
        )
    return length / pixels, math.sqrt(2.0) * READING / pixels


def two_markers(scales: Sequence[tuple[float, float]]) -> tuple[float, float, Flag | None]:
    """Return scale [m/px], its relative u and a doubt of markers in several places.

    Parameters
    ----------
    scales : sequence of (scale [m/px], relative u), one a marker

    Notes
    -----
    Markers of one plane square to the camera have one scale. One that changes across the picture
    is perspective: the mean is right in the middle, half the span is the doubt elsewhere.
    """
    values = [scale for scale, _ in scales]
    mean = sum(values) / len(values)
    reading = math.sqrt(sum(u * u for _, u in scales)) / len(scales)
    span = (max(values) - min(values)) / mean
    u = math.hypot(reading, 0.5 * span / math.sqrt(3.0))
    told = span - 2.0 * math.sqrt(2.0) * max(u for _, u in scales)
    if told < APART:
        return mean, u, None
    text = (
        f"the scale differs by {100 * span:.0f} % between the markers: the camera looks at an "
        "angle; square it to the sweep"
    )
    return mean, u, Flag("tilted", text, severe=told > 2.0 * APART)


def crossed(markers: Sequence[tuple[float, float, float]]) -> Tilt | None:
    """Return the tilt that two markers across each other tell, None where none are.

    Parameters
    ----------
    markers : sequence of (scale [m/px], relative u, direction [rad]) in the sweep's plane

    Notes
    -----
    A plane turned by an angle about one marker leaves that one as long as it was and shortens the
    other by the angle's cosine.
    """
    best: Tilt | None = None
    for i, (first, u, one) in enumerate(markers):
        for second, v, other in markers[:i]:
            if abs(math.sin(one - other)) < ACROSS:
                continue
            ratio = (max(first, second) / min(first, second)) ** 2
            tilt = Tilt(ratio - 1.0, ratio - 1.0, 2.0 * ratio * math.hypot(u, v), CROSS)
            best = tilt if best is None or tilt.u < best.u else best
    return best


def marker_length(patch: npt.NDArray[np.uint8]) -> float:
    """Return the longest extent [px] of the marker in a patch of a frame.

    The marker is what differs most from the patch's rim; its extent is taken along its main
    axis, at half its contrast.

    Raises
    ------
    InputError
        Nothing in the patch stands out.
    """
    grey = patch.astype(float)
    rim = np.concatenate([grey[0], grey[-1], grey[:, 0], grey[:, -1]])
    away = np.abs(grey - np.median(rim))
    noise = 1.4826 * float(np.median(np.abs(rim - np.median(rim)))) + 1.0
    top = float(np.percentile(away, 99.0))
    if top < 6.0 * noise:
        raise InputError("no marker stands out in the region given; a plain high-contrast bar does")
    rows, columns = np.nonzero(away > 0.5 * top)
    points = np.column_stack([columns, rows]).astype(float)
    centred = points - points.mean(axis=0)
    axis = np.linalg.svd(centred, full_matrices=False)[2][0]
    along = centred @ axis
    return float(np.ptp(along)) + 1.0


def out_of_plane(
    offset: float, camera_distance: float, water_depth: float, index: float = WATER_INDEX
) -> float:
    """Return by how much a marker nearer to the camera than the lure makes the scale too small.

    Parameters
    ----------
    offset : float [m], how far the marker is in front of the lure (behind: negative)
    camera_distance : float [m], camera to glass
    water_depth : float [m], glass to lure
    index : float, refractive index of the water

    Returns
    -------
    float, relative: the true scale in the lure's plane is that of the marker times 1 plus this

    Notes
    -----
    A length at apparent distance d_air + d_water/n: moving by D changes it by D/n, so the error is
    (D/n)/(d_air + d_water/n) of the lure's plane; 5 mm in a tank of 150 mm at 600 mm is 0.5 %,
    a marker on the front glass 15.8 %.

    Raises
    ------
    InputError
        A distance is not positive, or the marker lies behind the camera.
    """
    if not camera_distance > 0.0 or not water_depth >= 0.0:
        raise InputError("camera distance must be above zero and water depth zero or more")
    apparent = camera_distance + water_depth / index
    if offset / index >= apparent:
        raise InputError("the marker lies behind the camera")
    marker = apparent - offset / index
    return apparent / marker - 1.0
