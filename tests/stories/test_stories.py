"""Each story of the trade, from its headline to the line that decides, by the commands alone."""

import pytest
from stories.told import STORIES, lived, told


def test_there_are_six_stories_with_a_case_each():
    assert len(STORIES) == 6
    assert all(path.with_suffix(".toml").exists() for path in STORIES)


@pytest.mark.parametrize("path", STORIES, ids=lambda path: path.stem)
def test_every_command_of_a_story_is_answered_for(path):
    headline, steps, _ = told(path)
    assert headline
    assert all(step.answers for step in steps)


@pytest.mark.slow
@pytest.mark.parametrize("path", STORIES, ids=lambda path: path.stem)
def test_a_story_ends_as_it_is_told(path, tmp_path):
    for answered in lived(path, tmp_path):
        words = " ".join(answered.step.words)
        assert answered.status == 0, f"{words}: {answered.err}"
        for pattern in answered.step.answers:
            assert answered.matching(pattern), f"{words}: no line matches {pattern}\n{answered.out}"
