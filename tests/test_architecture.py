"""The house: data flows one way, modules stay small, starting up stays light."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import simsoft

PACKAGE = Path(simsoft.__file__).parent
MODULES = sorted(PACKAGE.rglob("*.py"))
LONGEST_MODULE = 400  # lines

# Rooms in the order in which data flows; none imports one further down. Rooms in one row do
# not know each other either, unless the table below says so.
FLOOR = (
    {"errors"},
    {"band", "compiled", "mixture"},
    {"files", "console"},
    {"case"},
    {"record", "material", "water"},
    {"result", "coefficients", "air", "profiled"},
    {"structure"},
    {"shape", "loads"},
    {"lure", "measures"},
    {"pieces", "plates"},
    {"whole", "base", "chains", "stems"},
    {"leaves"},
    {"free"},
    {"solve", "airborne"},
    {"bands", "checks", "mirror", "resolved", "whole_records"},
    {"cast", "free_answers", "jobs", "recipe"},
    {"engine", "results_file"},
    {"results_reader"},
    {"sweep", "aquarium"},
    {"report", "validate"},
    {"front"},
    {"cli"},
    {"__main__"},
)
LEVEL = {room: level for level, row in enumerate(FLOOR) for room in row}
# what arrays-only rooms may import, and nothing else of the package
ONLY = {
    "errors": set(),
    "band": set(),
    "compiled": {"errors"},
    "mixture": set(),
    "measures": set(),
    "structure": {"compiled"},
    "loads": {"compiled", "structure", "band"},
    "shape": {"case", "structure"},
    "report": {"files", "record", "resolved", "result", "results_reader", "sweep", "aquarium"},
}
# what the package's own functions import when they are first used
LAZY_API = {"simsoft.case", "simsoft.case.read", "simsoft.engine"}
# rooms with a single visitor
IMPORTED_ONLY_BY = {
    "report": {"cli", "front"},
    "front": {"cli"},
    "cli": {"__main__"},
    "validate": {"cli"},
}


def room_of(path):
    return path.relative_to(PACKAGE).with_suffix("").parts[0]


def imported_rooms(path):
    """Return (room, full module name) for every import of the package in a module."""
    result = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            names = [f"{node.module}.{a.name}" if node.module == "simsoft" else node.module
                     for a in node.names]  # fmt: skip
        elif isinstance(node, ast.Import):
            names = [a.name for a in node.names]
        else:
            continue
        for name in names:
            head, *rest = name.split(".")
            if head == "simsoft" and rest and rest[0] != "__version__":
                result.add((rest[0], name))
    return result


def named(path):
    return str(path.relative_to(PACKAGE))


def test_every_room_has_a_place_in_the_order():
    assert {room_of(path) for path in MODULES} - {"__init__"} == set(LEVEL)


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_no_module_imports_a_later_room(path):
    here = room_of(path)
    for room, name in imported_rooms(path):
        if here == "__init__":
            assert name in LAZY_API, f"the package itself imports {name}"
            continue
        upward = room != here and LEVEL[room] >= LEVEL[here]
        assert not upward, f"{named(path)} imports {name}, a later room"


@pytest.mark.parametrize("path", [p for p in MODULES if room_of(p) in ONLY], ids=named)
def test_rooms_of_arrays_know_nothing_of_cases(path):
    here = room_of(path)
    strangers = {n for room, n in imported_rooms(path) if room not in ONLY[here] | {here}}
    assert not strangers, f"{named(path)} imports {sorted(strangers)}"


def test_shape_takes_nothing_from_the_case_room_but_its_plain_data():
    for path in (PACKAGE / "shape").glob("*.py"):
        from_case = {name for room, name in imported_rooms(path) if room == "case"}
        assert from_case <= {"simsoft.case.model"}, named(path)


@pytest.mark.parametrize("room", IMPORTED_ONLY_BY)
def test_front_rooms_have_one_visitor(room):
    visitors = {
        room_of(path) for path in MODULES for seen, _ in imported_rooms(path) if seen == room
    }
    assert visitors - {room} == IMPORTED_ONLY_BY[room]


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_modules_stay_small_and_say_what_they_are(path):
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= LONGEST_MODULE
    assert ast.get_docstring(ast.parse(text)), f"{named(path)} has no docstring"


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_public_functions_and_classes_are_documented(path):
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            assert ast.get_docstring(node), f"{named(path)}: {node.name} has no docstring"


def loaded_after(code):
    """Return the top-level modules a fresh interpreter holds after running ``code``."""
    program = f"import sys\n{code}\nprint(*sorted({{m.split('.')[0] for m in sys.modules}}))"
    found = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=60
    )
    return set(found.stdout.splitlines()[-1].split())


HEAVY = {"numba", "scipy", "matplotlib", "h5py", "pint", "pydantic", "rich"}


def test_importing_the_package_is_light():
    assert not loaded_after("import simsoft") & (HEAVY | {"numpy"})


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], ["run", "--help"]])
def test_help_and_version_load_nothing_heavy(arguments):
    code = (
        f"sys.argv = ['simsoft', *{arguments}]\n"
        "from simsoft.cli import main\n"
        "try:\n    main()\nexcept SystemExit as end:\n    assert not end.code"
    )
    assert not loaded_after(code) & HEAVY
