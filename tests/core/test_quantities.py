"""The one table of quantities against what the package makes and what golden runs hold."""

import ast
import json
from pathlib import Path

import pytest

import simsoft
from simsoft.core.quantities import CHARTED, COLUMNS, QUANTITIES, answered_by, words

PACKAGE = Path(simsoft.__file__).parent
GOLDEN = Path(__file__).parents[1] / "golden" / "numbers"
FREE = {"recipe"}  # in the unit of its lever
# the name and unit of a quantity among the arguments of what makes answers
MAKERS = {"add": (0, 2, 4), "lack": (0, 1, 4), "missing": (2, 3, 6), "Record": (2, 6, 8)}


def literal(call, place):
    found = call.args[place] if len(call.args) > place else None
    return found.value if isinstance(found, ast.Constant) else None


def made():
    """Yield file, name and unit of every answer whose name stands in the code."""
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            name = getattr(node.func, "attr", getattr(node.func, "id", ""))
            if name not in MAKERS or len(node.args) < MAKERS[name][2]:
                continue
            quantity, unit = (literal(node, place) for place in MAKERS[name][:2])
            if quantity and isinstance(quantity, str) and isinstance(unit, str):
                yield path.relative_to(PACKAGE).as_posix(), quantity, unit


def test_every_answer_has_its_row_and_the_unit_of_it():
    found = list(made())
    assert len(found) > 80
    unknown = [one for one in found if one[1] not in QUANTITIES]
    assert not unknown
    assert not [one for one in found if one[1] not in FREE and one[2] != QUANTITIES[one[1]].unit]


@pytest.mark.parametrize("path", sorted(GOLDEN.glob("*.json")), ids=lambda path: path.stem)
def test_every_record_of_a_run_has_its_row_and_the_unit_of_it(path):
    for record in json.loads(path.read_text(encoding="utf-8"))["records"]:
        row = QUANTITIES[record["quantity"]]
        assert row.name in FREE or record["unit"] == row.unit


def test_rows_are_whole():
    for row in QUANTITIES.values():
        assert row.meaning
        assert not (row.better or row.share) or row.wished
        assert not row.charted or row.column
    assert COLUMNS[: len(CHARTED)] == CHARTED


def test_words_are_the_rows_and_else_the_name():
    assert words("flap_frequency") == "rate"
    assert words("start_speed") == "start speed"
    assert words("no_row") == "no row"
    assert set(answered_by("recipe", "about")).isdisjoint(answered_by("beat"))
