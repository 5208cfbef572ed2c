"""README and guide: they can be found and read, their tables are those of the program."""

import re

import pytest
from click.testing import CliRunner
from guide.made import made, renewed, words
from guide.pages import GUIDE, MADE, PAGES, README, blocks, links, sentences

from simsoft.case.keys import all_keys
from simsoft.cli.guide import guide_pages
from simsoft.cli.main import commands

LONGEST_README = 120  # lines
LONGEST_SENTENCE = 25  # words
WIDEST = 100  # columns in the terminal
TOPICS = {
    *("answers", "aquarium", "brief", "case", "conventions", "lure", "mesh", "names", "numerics"),
    *("parts", "physics", "python", "resolve", "security", "stories", "trouble", "trust"),
}
INSTALL = (
    "python3 -m venv .venv && .venv/bin/pip install -e . && "
    ".venv/bin/simsoft run cases/swim_97.toml --out results"
)
TEST = (
    'python3 -m venv .venv && .venv/bin/pip install -e ".[dev]" && '
    '.venv/bin/pytest -n logical -m "not slow"'
)
each_page = pytest.mark.parametrize("path", PAGES, ids=lambda path: path.stem)


def shown(*words):
    found = CliRunner().invoke(commands, ["guide", *words])
    assert found.exit_code == 0, found.output
    return found.output


def test_the_list_names_every_page_with_its_heading():
    text = shown()
    assert set(guide_pages()) == TOPICS == {path.stem for path in GUIDE.glob("*.md")}
    for path in GUIDE.glob("*.md"):
        heading = path.read_text(encoding="utf-8").splitlines()[0].removeprefix("# ")
        assert re.search(rf"^{path.stem} +{re.escape(heading)}$", text, re.MULTILINE)


@pytest.mark.parametrize("topic", sorted(TOPICS))
def test_a_page_is_shown_without_markup(topic):
    text = shown(topic)
    assert "<!--" not in text
    assert "```" not in text
    assert "**" not in text
    assert "\x1b" not in text
    assert max(map(len, text.splitlines())) <= WIDEST


def test_a_page_can_be_found_on_disk():
    assert shown("trust", "--path").strip() == str(GUIDE / "trust.md")


@pytest.mark.parametrize(
    ("asked", "said"),
    [(["guide", "trubble"], "did you mean `trouble`"), (["guide", "--path"], "name its TOPIC")],
)
def test_a_page_that_is_not_there_is_one_clear_line(command, asked, said):
    status, out, err = command(*asked)
    assert (status, out) == (2, "")
    assert said in err
    assert len(err.splitlines()) == 1


def test_readme_is_short_and_holds_the_two_commands():
    text = README.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= LONGEST_README
    lines = [line for block in blocks(README, "sh") for line in block.text.splitlines()]
    assert INSTALL in lines
    assert TEST in lines


@each_page
def test_sentences_are_short(path):
    counted = {
        s: sum(any(c.isalnum() for c in word) for word in s.split()) for s in sentences(path)
    }
    assert len(counted) > 5
    assert not {s: n for s, n in counted.items() if n > LONGEST_SENTENCE}


@each_page
def test_links_lead_somewhere(path):
    assert not [link for link in links(path) if not (path.parent / link).exists()]


@each_page
def test_tables_are_those_of_the_program(path):
    """``python -m tests.guide`` writes them again."""
    text = path.read_text(encoding="utf-8")
    assert renewed(text, slow=False) == text


def test_every_key_of_a_case_stands_in_the_guide():
    tables = {
        found["what"].split()[1]
        for path in PAGES
        for found in MADE.finditer(path.read_text(encoding="utf-8"))
        if found["what"].startswith("keys")
    }
    of_keys = {k.path.rpartition(".")[0] for k in all_keys() if k.form not in ("table", "list")}
    assert {table.removeprefix("-") for table in tables} == of_keys


def answers():
    return [
        (path.stem, found["what"], found["body"])
        for path in PAGES
        for found in MADE.finditer(path.read_text(encoding="utf-8"))
        if found["what"].startswith("answer")
    ]


def test_answers_hold_the_words_of_a_run():
    """Not its digits: ``python -m tests.guide`` refreshes them."""
    assert {page for page, *_ in answers()} == {"README", "answers"}
    for _, _, body in answers():
        for said in ("kicks from", "m/s", "How fast:", "Hz", "How sure:", "In doubt:"):
            assert said in body


@pytest.mark.slow
@pytest.mark.parametrize("what", sorted({what for _, what, _ in answers()}))
def test_answers_are_still_what_a_run_says(what):
    now = words(made(what))
    for _, of, body in answers():
        if of == what:
            assert words(body) == now, "python -m tests.guide"
