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
MOST_PARAMETERS = 12  # of a function, kernels among them

# Rooms in the order in which data flows. A module imports from its own room and from rows above;
# rooms in one row do not know each other. `guide` may be missing.
FLOOR = (
    {"core"},
    {"case"},
    {"results", "properties", "mechanics"},
    {"geometry", "hydrodynamics", "solvers"},
    {"lure"},
    {"bodies"},
    {"scenarios"},
    {"engine"},
    {"design", "aquarium", "resolved", "drawn"},
    {"report", "guide"},
    {"validate"},
    {"cli"},
)
# The same inside rooms of many floors: folders, and "" for the modules beside them.
INSIDE = {
    "hydrodynamics": ({"section", "correlations"}, {"", "plate"}),
    "bodies": ({"rod"}, {"", "answers", "clearance"}, {"plate"}, {"paddle"}, {"free"}),
    "scenarios": ({"hold", "free"}, {"retrieve", "cast", ""}),
}
LEVEL = {room: level for level, row in enumerate(FLOOR) for room in row}
# what rooms of arrays and of output may import beside themselves, and nothing else of the package
ONLY = {
    "core": set(),
    "results": {"core.arrays", "core.errors", "core.files", "case.model", "case.stored"},
    "mechanics": {"core.arrays", "core.compiled"},
    "solvers": {"core.arrays", "core.compiled", "core.errors", "core.signals", "mechanics"},
    "hydrodynamics": {"core.arrays", "core.compiled", "core.band", "mechanics"},
    "geometry": {"core.arrays", "case.model", "case.paddle_outlines", "mechanics"},
    "report": {
        "core.arrays",
        "core.cells",
        "core.quantities",
        "core.files",
        "results",
        "design",
        "aquarium",
        "resolved",
        "drawn",
    },
}
# what the package's own functions import when they are first used
LAZY_API = {
    *("simsoft.case", "simsoft.case.read", "simsoft.engine", "simsoft.engine.run"),
    *("simsoft.engine.part", "simsoft.cli", "simsoft.cli.called"),
}
# rooms with few visitors
IMPORTED_ONLY_BY = {
    "report": {"cli"},
    "resolved": {"cli", "report", "validate"},
    "validate": {"cli"},
    "cli": {"__main__", "__init__"},
}


def parts_of(path):
    return path.relative_to(PACKAGE).with_suffix("").parts


def room_of(path):
    return parts_of(path)[0]


def imported(path):
    """Return the full names, without the package's, of every module that one imports."""
    result = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            if node.module.split(".")[0] == "simsoft":
                result |= {_module(f"{node.module}.{a.name}") for a in node.names}
        elif isinstance(node, ast.Import):
            result |= {_module(a.name) for a in node.names if a.name.split(".")[0] == "simsoft"}
    return {name for name in result if name}


def _module(name):
    """Return what of a dotted name is a module: 'simsoft.core.band.Band' is 'core.band'."""
    words = name.split(".")[1:]
    while words:
        place = PACKAGE.joinpath(*words)
        if place.with_suffix(".py").exists() or place.is_dir():
            return ".".join(words)
        words.pop()
    return ""


def below(name, rooms):
    return any(name == room or name.startswith(f"{room}.") for room in rooms)


def named(path):
    return str(path.relative_to(PACKAGE))


def test_nothing_is_loose_at_the_top_and_every_room_has_a_place_in_the_order():
    loose = {path.stem for path in PACKAGE.glob("*.py")}
    assert loose == {"__init__", "__main__"}
    rooms = {room_of(path) for path in MODULES} - loose
    assert rooms <= set(LEVEL)
    assert set(LEVEL) - rooms <= {"guide"}


def test_no_function_of_the_api_shares_its_name_with_a_room():
    """Python would put a room in the function's place as soon as anything imports it."""
    taken = {entry.stem for entry in PACKAGE.iterdir()}
    assert not set(simsoft.__all__) & taken


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_no_module_imports_a_later_room(path):
    here = room_of(path)
    for name in imported(path):
        room = name.split(".")[0]
        if here == "__init__":
            assert f"simsoft.{name}" in LAZY_API, f"the package itself imports {name}"
        elif here == "__main__":
            assert room == "cli"
        else:
            upward = room != here and LEVEL[room] >= LEVEL[here]
            assert not upward, f"{named(path)} imports {name}, a later room"


@pytest.mark.parametrize("path", [p for p in MODULES if room_of(p) in INSIDE], ids=named)
def test_no_module_imports_a_later_folder_of_its_room(path):
    here, *rest = parts_of(path)
    order = {folder: level for level, row in enumerate(INSIDE[here]) for folder in row}
    mine = rest[0] if len(rest) > 1 else ""
    for name in imported(path):
        room, *inner = name.split(".")
        if room != here or not inner:
            continue
        its = inner[0] if (PACKAGE / room / inner[0]).is_dir() else ""
        later = its != mine and order[its] > order[mine]
        assert not later, f"{named(path)} imports {name}, a later folder"


@pytest.mark.parametrize("path", [p for p in MODULES if room_of(p) in ONLY], ids=named)
def test_rooms_of_arrays_know_nothing_of_cases(path):
    here = room_of(path)
    strangers = {name for name in imported(path) if not below(name, ONLY[here] | {here})}
    assert not strangers, f"{named(path)} imports {sorted(strangers)}"


@pytest.mark.parametrize("room", IMPORTED_ONLY_BY)
def test_late_rooms_have_few_visitors(room):
    visitors = {
        room_of(path) for path in MODULES for name in imported(path) if name.split(".")[0] == room
    }
    assert visitors - {room} <= IMPORTED_ONLY_BY[room]


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


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_no_function_takes_more_than_a_dozen_parameters(path):
    """What belongs together comes as one record (``NamedTuple``), which kernels take too."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.Lambda):
            given = node.args
            named_ones = [*given.posonlyargs, *given.args, *given.kwonlyargs]
            count = len(named_ones) + sum(one is not None for one in (given.vararg, given.kwarg))
            what = getattr(node, "name", "a lambda")
            assert count <= MOST_PARAMETERS, f"{named(path)}: {what} takes {count}"


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


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], ["run", "--help"], ["guide"]])
def test_help_and_version_load_nothing_heavy(arguments):
    code = (
        f"sys.argv = ['simsoft', *{arguments}]\n"
        "from simsoft.cli.main import main\n"
        "try:\n    main()\nexcept SystemExit as end:\n    assert not end.code"
    )
    assert not loaded_after(code) & HEAVY


def test_no_two_test_files_share_a_name():
    """Test folders are no packages: pytest imports their files by bare name, all in one process."""
    names = sorted(path.name for path in Path(__file__).parent.rglob("test_*.py"))
    assert [name for name in set(names) if names.count(name) > 1] == []
