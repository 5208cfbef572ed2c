"""Functions stay small enough to read at a glance."""

import ast

import pytest
from test_architecture import MODULES, named

LONGEST_FUNCTION = 80  # lines without the docstring


def functions_of(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef):
            first = node.body[0]
            words = first.end_lineno - first.lineno + 1 if ast.get_docstring(node) else 0
            yield node.name, node.end_lineno - node.lineno + 1 - words


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_functions_stay_small(path):
    long = {name: lines for name, lines in functions_of(path) if lines > LONGEST_FUNCTION}
    assert not long, f"{named(path)}: {long}"
