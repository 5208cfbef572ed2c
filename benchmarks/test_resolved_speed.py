"""Speed of the resolved flow on the processor, beside a plain copy of the same populations."""

import numpy as np
import pytest

from simsoft.resolved.domain import BYTES_PER_CELL, Domain, relaxation_profile, uniform
from simsoft.resolved.processor import step_clean

CELLS = (130, 66, 66)
LEAST_SHARE = 0.05  # of the copy's speed; a scalar loop reaches a fifth of that


@pytest.fixture(scope="module")
def box():
    domain = Domain(CELLS, 0.05, 0.001, 0.1, (0.5, 0.5), (2, 10, 2, 10, 2, 10))
    source = uniform(domain)
    return domain, source, source.copy(), relaxation_profile(domain)


def test_clean_cells_against_a_copy(benchmark, box):
    """Million cell updates a second, and as a share of what a copy of the arrays moves."""
    domain, source, result, times = box
    step_clean(source, result, times, np.float32(0.01))
    benchmark(step_clean, source, result, times, np.float32(0.01))
    step = benchmark.stats.stats.min
    import timeit

    copy = min(timeit.repeat(lambda: np.copyto(result, source), number=1, repeat=7))
    moved = domain.cells * BYTES_PER_CELL
    benchmark.extra_info["million cells a second"] = domain.cells / step / 1e6
    benchmark.extra_info["share of copy"] = copy / step
    print(f"{domain.cells / step / 1e6:.1f} million cells a second, {moved / step / 1e9:.1f} GB/s, "
          f"{copy / step:.2f} of a copy")  # fmt: skip
    assert copy / step > LEAST_SHARE
