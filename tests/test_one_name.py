"""One name, one thing: no two modules have a public function or class of the same name."""

import ast
from collections import defaultdict
from pathlib import Path

import pytest

import simsoft

PACKAGE = Path(simsoft.__file__).parent
# What a program's entry is called everywhere, here and elsewhere.
ENTRY = "main"
# Names that are an interface: every module of the folder has them for the same job, and whoever
# lists the modules asks each for it. No command needs such leave: where a command is called like
# the function behind it (`run` of the Python interface), its own function has another name and the
# decorator says the word.
INTERFACES = {"validate/studies": {"study", "section"}}


def names():
    """Return the modules of every public name at the top of a module."""
    found = defaultdict(set)
    for path in sorted(PACKAGE.rglob("*.py")):
        module = path.relative_to(PACKAGE).with_suffix("").as_posix()
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
                found[node.name].add(module)
    return found


def is_interface(name, modules):
    return any(
        name in asked and all(module.startswith(f"{folder}/") for module in modules)
        for folder, asked in INTERFACES.items()
    )


def test_no_public_name_stands_for_two_things():
    doubled = {
        name: sorted(where)
        for name, where in names().items()
        if len(where) > 1 and name != ENTRY and not is_interface(name, where)
    }
    assert not doubled, f"call one of each something else: {doubled}"


@pytest.mark.parametrize("folder", INTERFACES)
def test_an_interface_is_met_by_more_than_one_module(folder):
    found = names()
    for name in INTERFACES[folder]:
        met = [module for module in found[name] if module.startswith(f"{folder}/")]
        assert len(met) > 1, f"{name} is no interface of {folder}: take it out of the list"
