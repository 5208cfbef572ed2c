"""The study of twelve invented lures: what counts as inside, the data, the page's section."""

from pathlib import Path

import pytest

import simsoft
from simsoft.case.read import load
from simsoft.validate.locate import checks_directory
from simsoft.validate.studies.brackets import FOLDER, BracketLine, lure_brackets, section, study

ROOT = Path(simsoft.__file__).parent.parent


@pytest.mark.parametrize(
    ("stated", "found", "inside"),
    [((10.0,), 5.0, True), ((10.0,), 4.9, False), ((10.0,), 15.1, False), ((4.0, 8.0), 2.8, True),
     ((4.0, 8.0), 10.5, False), ((4.0, 8.0), None, False)],
)  # fmt: skip
def test_single_numbers_have_half_and_ranges_three_tenths(stated, found, inside):
    assert BracketLine("S01", "x", stated, found, "").inside is inside


def test_there_are_twelve_lures_that_are_ordinary_cases():
    folder = checks_directory() / FOLDER
    stated = lure_brackets(folder)
    assert len(stated) == 12
    for name in stated:
        case = load(folder / f"{name}.toml")
        assert {"sink", "cast"} <= {s.kind for s in case.scenarios}
        assert case.body is not None


def test_the_section_says_where_and_why():
    lines = [
        BracketLine("S01", "sink rate [m/s]", (0.3,), 0.31, ""),
        BracketLine("S02", "sink rate [m/s]", (0.3,), 0.9, "nose down"),
        BracketLine("S02", "cast end on, still air [m]", (30.0,), None, "nose down"),
    ]
    text = section(lines)
    assert "1 of 3 numbers lie inside" in text
    assert "| S02 | sink rate [m/s] | 0.3 | 0.9 | +200 % | outside |" in text
    assert text.count("nose down") == 1


@pytest.mark.slow
def test_the_worm_without_parts_lands_where_the_page_says():
    lines = {line.label: line for line in study(("S06",))}
    assert lines["modulus at 5 Hz [kPa]"].found == pytest.approx(306.7, rel=1e-3)
    assert lines["sink rate [m/s]"].inside
    assert lines["cast broadside, still air [m]"].inside
    page = (ROOT / "validation" / "STUDIES.md").read_text(encoding="utf-8")
    assert f"| {lines['sink rate [m/s]'].found:.3g} |" in page
