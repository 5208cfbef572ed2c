"""The null case with skin friction: drag alone never starts an aligned ribbon."""

import numpy as np
import pytest
from test_onset import FIRST_WET, aligned, growth_against_speed

from simsoft.solvers.stability import GROWTH_NOISE


@pytest.mark.parametrize("damped", [True, False])
@pytest.mark.parametrize("normal_drag", [0.0, 1.95])
def test_friction_never_starts_an_aligned_ribbon(damped, normal_drag):
    strip, values, rod = aligned(reactive=False, normal_drag=normal_drag, skin_friction=0.01)
    if not damped:
        values |= {"loss_factor": 0.0}
    found = growth_against_speed(strip, values, rod, np.geomspace(0.05, 5.0, 25))
    assert found.crossings == ()
    assert np.all(found.growth <= GROWTH_NOISE * FIRST_WET)
