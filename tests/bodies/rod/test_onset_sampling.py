"""Whatever the sampled speeds, no crossing may hide between them."""

import numpy as np
import pytest
from test_onset import S_SHAPE, crossings


@pytest.mark.parametrize("shift", np.linspace(1.0, 1.07, 8))
def test_no_alignment_of_the_samples_hides_a_crossing(shift):
    """Forty speeds over a factor of twenty, a spacing of 8 %, beta 0.295."""
    speeds = np.geomspace(0.5, 10.0, 40) * shift
    found = crossings(0.295, 40, speeds[(speeds > 6.0) & (speeds < 9.5)])
    assert [c[2] for c in found] == [True, False, True]
    assert [c[0] for c in found] == pytest.approx(S_SHAPE, rel=1e-2)
