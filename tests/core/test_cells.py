"""Text of a table stays text in a spreadsheet and on a terminal."""

import pytest

from simsoft.core.cells import text_cell


@pytest.mark.parametrize("text", ["=1+1", "+cmd|x", "-2+3", "@SUM(A1)", "\t=1", " \r=1", "\x1b=1"])
def test_no_cell_is_a_formula(text):
    assert text_cell(text).startswith("'")


@pytest.mark.parametrize("text", ["-1.5", "+2e-3", ".5", "stays", "a=b", "", "12 mm"])
def test_numbers_and_plain_words_stay(text):
    assert text_cell(text) == text


def test_what_steers_a_terminal_is_gone():
    assert text_cell("a\x1b[2Jb\u202ec\nd") == "a [2Jb c d"
