"""How deep a point lies under the outer surface of a body."""

from __future__ import annotations

import numpy as np

from simsoft.case.model import BodyInput
from simsoft.core.arrays import Array
from simsoft.geometry.stations import along

STEP = 1.0e-4  # of the length, over which a taper is taken
SMALL = 1.0e-12


def depth_in_body(body: BodyInput, point: Array) -> Array:
    """Return how deep points lie under a body's outer surface, negative outside it.

    The sections' own ellipse or rectangle counts, without slot and ribs. Of an ellipse the depth
    is that of first order, level over slope (Taubin 1991, IEEE PAMI 13, from memory): exact for a
    round section, and near the surface of any.

    Parameters
    ----------
    body : BodyInput
    point : array (n, 3) [m], in the lure's axes

    Returns
    -------
    depth : array (n,) [m]
    """
    share = np.clip(point[:, 0] / body.length, 0.0, 1.0)
    behind, ahead = np.clip(share - STEP, 0.0, 1.0), np.clip(share + STEP, 0.0, 1.0)
    way = (ahead - behind) * body.length
    half = _halves(body, share)
    away = np.abs(point[:, [2, 1]])
    if body.section == "rectangle":
        slope = (_halves(body, ahead) - _halves(body, behind)) / way[:, None]
        side = ((half - away) / np.hypot(1.0, slope)).min(axis=1)
    else:
        level = np.maximum(np.linalg.norm(away / half, axis=1), SMALL)
        along_it = np.linalg.norm(away / _halves(body, ahead), axis=1)
        along_it -= np.linalg.norm(away / _halves(body, behind), axis=1)
        across = np.linalg.norm(away / half**2, axis=1) / level
        # on the middle line no slope is left: nothing lies deeper than the nearer wall
        slope = np.maximum(np.hypot(across, along_it / way), SMALL)
        side = np.minimum((1.0 - level) / slope, half.min(axis=1))
    return np.asarray(np.minimum(side, np.minimum(point[:, 0], body.length - point[:, 0])))


def _halves(body: BodyInput, share: Array) -> Array:
    """Return half of height and width (n, 2) [m] at shares of the length."""
    sizes = along(body.height, share), along(body.width, share)
    return 0.5 * np.maximum(np.stack(sizes, axis=1), SMALL)
