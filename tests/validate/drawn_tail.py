"""A straight tail that does not move."""

import numpy as np

from simsoft.validate.studies.film_clip import ClipMotion


def still_tail():
    """Return a straight tail of 40 mm."""
    shapes = np.zeros((4, 10, 3))
    shapes[:, :, 0] = np.linspace(0.0, 0.04, 10)
    return ClipMotion(5.0, shapes, 1.5e-3)
