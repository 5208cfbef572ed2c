"""Types of kernels as text: back and forth."""

import json

import numba
import numpy as np
import pytest

from simsoft.core.signatures import text_of, type_of
from simsoft.mechanics.rod import Stream, no_paddle

FROZEN = np.zeros(2)
FROZEN.flags.writeable = False
VALUES = (
    1.5,
    2,
    True,
    np.zeros(3),
    np.zeros((3, 2)),
    np.zeros((3, 2)).T,
    np.zeros((4, 4))[::2, ::2],
    np.zeros(3, dtype=complex),
    np.zeros(3, dtype=np.int64),
    np.zeros(3, dtype=bool),
    FROZEN,
    (1.0, 2),
    (np.zeros(2), np.zeros(2)),
    Stream(np.zeros(3), np.zeros(3), 0.0),
    no_paddle(),
)


@pytest.mark.parametrize("value", VALUES, ids=repr)
def test_a_type_comes_back_from_its_text(value):
    kind = numba.typeof(value)
    assert type_of(json.loads(json.dumps(text_of(kind)))) == kind


def test_what_has_no_text_is_refused():
    with pytest.raises(KeyError):
        text_of(numba.types.unicode_type)
