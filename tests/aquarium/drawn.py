"""A tail whose motion is written down, to be drawn and filmed."""

import math

import numpy as np

from simsoft.validate.studies.film_clip import ClipMotion


def tail(frequency=5.0, length=0.04, sweep=0.008, plate=0.0, thickness=1.2e-3, lag=0.3):
    """Return a tail of given length [m] whose tip sweeps +-``sweep`` [m]."""
    along = np.linspace(0.0, 1.0, 25)
    shapes = np.zeros((16, 25, 3))
    for k in range(16):
        side = sweep * along**2 * np.sin(2.0 * math.pi * (k / 16 - lag * along))
        step = length / 24
        forward = np.sqrt(np.maximum(0.05, 1.0 - (np.diff(side) / step) ** 2)) * step
        shapes[k, :, 0] = np.concatenate([[0.0], np.cumsum(forward)])
        shapes[k, :, 1] = side
    return ClipMotion(frequency, shapes, thickness, plate)
