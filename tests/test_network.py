"""No shell, no network but what the user asks for, and every program that is started is known."""

import ast
from pathlib import Path

import simsoft

PACKAGE = Path(simsoft.__file__).parent
NETWORK = {
    "socket", "ssl", "urllib", "http", "requests", "ftplib", "smtplib", "asyncio", "webbrowser",
    "socketserver", "xmlrpc", "telnetlib",
}  # fmt: skip
ASKED_FOR = {
    "design/sweep/cluster.py": {"distributed"},  # --scheduler
    "cli/explore.py": {"webbrowser"},  # opens the page of `simsoft explore`
    "cli/explore_server.py": {"http", "urllib"},  # serves it, on the loopback address alone
}
STARTS = {
    "case/shapes/mesh_step.py": {"subprocess"},
    "core/prepare.py": {"multiprocessing"},
    "design/sweep/pool.py": {"multiprocessing"},
    "validate": {"multiprocessing"},
}


def modules():
    for path in sorted(PACKAGE.rglob("*.py")):
        yield path.relative_to(PACKAGE).as_posix(), ast.parse(path.read_text(encoding="utf-8"))


def imported(tree):
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module.partition(".")[0]


def test_no_module_opens_a_connection_that_was_not_asked_for():
    for name, tree in modules():
        strange = set(imported(tree)) & (NETWORK | {"distributed"})
        assert strange <= ASKED_FOR.get(name, set()), f"{name} imports {strange}"


def test_programs_are_started_in_known_places_and_never_by_a_shell():
    for name, tree in modules():
        used = set(imported(tree)) & {"subprocess", "multiprocessing", "pty"}
        allowed = STARTS.get(name, STARTS.get(name.partition("/")[0], set()))
        assert used <= allowed, f"{name} imports {used}"
        for node in ast.walk(tree):
            if isinstance(node, ast.keyword) and node.arg == "shell":
                raise AssertionError(f"{name} asks for a shell")
            if isinstance(node, ast.Attribute) and node.attr in ("system", "popen", "execv"):
                owner = getattr(node.value, "id", "")
                assert owner != "os", f"{name} calls os.{node.attr}"
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("eval", "exec"):
                raise AssertionError(f"{name} runs text")


def test_the_page_on_security_is_part_of_the_package():
    text = (PACKAGE / "guide" / "security.md").read_text(encoding="utf-8")
    assert text.startswith("# What is trusted, and what is not")
