"""The study of the two judges of a brief."""

import pytest

from simsoft.validate.studies.judges import DESIGNS, BothJudged, section, study


@pytest.mark.parametrize(
    ("fast", "full", "agree"),
    [(0.5, 0.5, True), (0.62, 0.5, True), (0.64, 0.5, False), (1.0, 1.0, True), (0.9, 1.0, False)],
)
def test_twice_the_binomial_error_is_allowed(fast, full, agree):
    assert BothJudged((), fast, full, 3, 64).agree is agree


def test_the_section_counts_and_names_who_is_off():
    text = section([BothJudged((), 0.5, 0.5, 0, 64), BothJudged(("a.b=1 mm",), 0.9, 0.4, 32, 64)])
    assert "1 of 2 lie within it" in text
    assert "| a.b=1 mm | 90% | 40% | 32 | 12% | NO |" in text


def test_ten_designs_are_judged():
    assert len(set(DESIGNS)) == 10


@pytest.mark.slow
def test_both_judges_agree_on_two_designs():
    assert all(row.agree for row in study(DESIGNS[:2], 16))
