"""Drag of long sections: the table's rows, its order, and how folding sheds drag."""

import numpy as np
import pytest

from simsoft.hydrodynamics.correlations.bluff import folded_share, section_drag_coefficient


@pytest.mark.parametrize(
    ("section", "along", "across", "expected"),
    [("ellipse", 1.0, 1.0, 1.2), ("ellipse", 2.0, 1.0, 0.6), ("ellipse", 1.0, 4.0, 1.79),
     ("rectangle", 1.0, 1.0, 2.34), ("rectangle", 2.0, 1.0, 1.8), ("ellipse", 20.0, 1.0, 0.25)],
)  # fmt: skip
def test_rows_of_the_table(section, along, across, expected):
    found = section_drag_coefficient(section, np.array([along]), np.array([across]))
    assert found[0] == pytest.approx(expected)


def test_a_flat_side_drags_more_than_an_edge():
    size = np.array([1.0])
    assert section_drag_coefficient("ellipse", 0.3 * size, size) > 2.0 * section_drag_coefficient(
        "ellipse", size, 0.3 * size
    )


def test_a_stiff_strip_keeps_its_drag_and_a_soft_one_sheds_it():
    assert folded_share(0.0) == 1.0
    assert folded_share(2.0) == 1.0
    assert folded_share(16.0) == pytest.approx(0.5)
    assert np.all(np.diff(folded_share(np.linspace(0.0, 1e4, 50))) <= 0.0)
