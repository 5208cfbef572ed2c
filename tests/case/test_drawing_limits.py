"""Drawings that hold more than any outline, or that no mesh can be made of."""

import pytest

from simsoft.case.shapes.drawing import read_drawing
from simsoft.geometry.meshing import quads_on

HEAD = '<svg xmlns="http://www.w3.org/2000/svg">'
BOX = '<rect width="3" height="2"/>'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (BOX * 1001, "holds more than 1000 elements"),
        (BOX + '<use href="#a"/>' * 11, "holds more than 10 copies"),
        (f'<path d="{"L 1 2 " * 50_000}"/>', "characters of numbers and names"),
        ('<path d="M 0 0 L 1e12 0 L 1 1 Z"/>', "draws a point at 1e+12, -0"),
        ('<path d="M 0 0 ' + "C 1 2 3 4 5 6 " * 500 + 'Z"/>', "draws more than 20000 points"),
        ("<g>\x1b[2J", "cannot be read: not well-formed"),
    ],
)
def test_a_drawing_of_too_much_is_refused_in_one_line(tmp_path, text, said):
    path = tmp_path / "fin.svg"
    path.write_text(f"{HEAD}{text}</svg>")
    with pytest.raises(ValueError, match=r"fin\.svg") as refused:
        read_drawing(path)
    assert said in str(refused.value)
    assert str(refused.value).isprintable()


def test_a_spike_without_width_is_refused_and_ends_no_process():
    spike = ((0.0, -0.009), (0.03, 505.0), (0.0, 0.009))
    with pytest.raises(ValueError, match=r"elements of 2\.5 mm would be needed"):
        quads_on((spike,), 0.0025)
