"""One name, one thing: no new public function or class shares its name with one elsewhere."""

import ast
from collections import defaultdict
from pathlib import Path

import simsoft

PACKAGE = Path(simsoft.__file__).parent
# Names that stood in two modules when this was written. The list may only grow shorter: whoever
# renames one takes it out. Some are the same thing twice over on purpose: a command and the
# function that it calls, the cells on the processor and on a card, the sections of the studies.
DOUBLED = {
    "Beat", "Cost", "Course", "Flow", "Job", "State", "Trial", "cost", "keep", "keep_books",
    "main", "make_trial", "march", "mark", "nearest", "section", "shift_cells", "step_clean",
    "step_near", "study",
}  # fmt: skip


def names():
    """Return the modules of every public name at the top of a module."""
    found = defaultdict(set)
    for path in sorted(PACKAGE.rglob("*.py")):
        module = ".".join(path.relative_to(PACKAGE).with_suffix("").parts)
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
                found[node.name].add(module)
    return found


def test_no_public_name_stands_for_two_things():
    new = {name: where for name, where in names().items() if len(where) > 1 and name not in DOUBLED}
    assert not new, f"call one of each something else: {new}"


def test_the_list_of_doubled_names_only_grows_shorter():
    found = names()
    gone = sorted(name for name in DOUBLED if len(found[name]) < 2)
    assert not gone, f"no longer doubled, take out of the list: {gone}"
