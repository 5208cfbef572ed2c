"""Types of arrays: what every room calls an array of numbers, counts, truths."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]
ComplexArray = npt.NDArray[np.complex128]
