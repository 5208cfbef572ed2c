"""Prose goes by the columns of the terminal, tables and kept files do not."""

import pytest

from simsoft.design.difference import run_difference
from simsoft.report.text.brief import folded
from simsoft.report.text.calibration import wrapped
from simsoft.report.text.difference import difference_text
from simsoft.report.text.run import summary
from simsoft.report.text.width import WIDTH, narrowed, width

WORDS = "one two three four five six seven eight nine ten " * 5


@pytest.mark.parametrize("broken", [folded, wrapped])
def test_a_sentence_is_broken_to_what_the_terminal_holds(broken):
    assert max(map(len, broken(WORDS))) > 60
    with narrowed(60):
        assert max(map(len, broken(WORDS))) <= 60
    with narrowed(200):
        assert width() == WIDTH
    assert width() == WIDTH


def test_a_run_and_a_difference_keep_their_words(synthetic_result):
    fewer = synthetic_result.records[:-3]
    other = synthetic_result.__class__(**{**vars(synthetic_result), "records": fewer})
    found = run_difference(synthetic_result, other)
    for text in (lambda: summary(synthetic_result, ""), lambda: difference_text(found, "mm")):
        wide = text()
        with narrowed(50):
            narrow = text()
        assert narrow.split() == wide.split()
        assert narrow != wide


def test_no_line_of_a_difference_is_wider_than_the_terminal(synthetic_result):
    fewer = synthetic_result.__class__(
        **{**vars(synthetic_result), "records": synthetic_result.records[:-3]}
    )
    with narrowed(60):
        lines = difference_text(run_difference(synthetic_result, fewer), "mm").splitlines()
    assert lines
    assert max(map(len, lines)) <= 60
