"""The kernels' cache: a change in any file that holds a kernel asks for compiling."""

import os
import re
import shutil
import stat
import subprocess
import sys
from pathlib import Path

import pytest

import simsoft
from simsoft.core.compiled import KERNEL_MARKS, KERNEL_PACKAGES, CheckedEntries, private
from simsoft.core.errors import InputError

PACKAGE = Path(simsoft.__file__).parent
CASE = PACKAGE.parent / "cases" / "paddle_100.toml"


def test_every_file_with_a_kernel_is_in_the_digest():
    """A file left out would leave stale machine code behind when it changes."""
    holds = [
        path
        for path in PACKAGE.rglob("*.py")
        if re.search(rb"^@\w*kernel\(", path.read_bytes(), flags=re.M)
    ]
    assert len(holds) > 20
    for path in holds:
        assert path.relative_to(PACKAGE).parts[0] in KERNEL_PACKAGES
        assert any(mark in path.read_bytes() for mark in KERNEL_MARKS), path.name


TOY = """
from simsoft.core.compiled import kernel

@kernel()
def toy(x):
    return 3.0 * x + 1.0

print(toy(2.0), sum(toy.stats.cache_hits.values()))
"""


def toy(folder, **environment):
    """Run a small kernel in a process of its own; return what it prints, or its last error line."""
    script = folder / "toy.py"
    if not script.exists():
        script.write_text(TOY)
    found = subprocess.run(
        [sys.executable, str(script)],
        env={
            **os.environ,
            "SIMSOFT_CACHE": str(folder / "cache"),
            "PYTHONPATH": str(PACKAGE.parent),
            **environment,
        },
        capture_output=True,
        text=True,
    )
    return found.stdout.strip() or found.stderr.strip().splitlines()[-1]


def entries(folder):
    return sorted(path for path in (folder / "cache").rglob("toy*") if path.is_file())


def test_a_damaged_entry_is_compiled_again(tmp_path):
    assert toy(tmp_path) == "7.0 0"
    assert toy(tmp_path) == "7.0 1"
    kinds = {path.suffix for path in entries(tmp_path)}
    assert kinds == {".nbi", ".nbc"}
    for kind in sorted(kinds):
        (path,) = (p for p in entries(tmp_path) if p.suffix == kind)
        data = path.read_bytes()
        for place in (len(data) // 2, len(data) - 1):
            changed = bytearray(data)
            changed[place] ^= 4
            path.write_bytes(bytes(changed))
            assert toy(tmp_path) == "7.0 0", (kind, place)
        path.write_bytes(b"\xff" + data[1:])
        assert toy(tmp_path) == "7.0 0", (kind, "first")
        path.write_bytes(data[: len(data) // 3])
        assert toy(tmp_path) == "7.0 0", (kind, "cut")
        assert toy(tmp_path) == "7.0 1"


def test_every_kernel_keeps_checked_entries():
    from simsoft.mechanics import material_law as law

    assert isinstance(law.modulus_at._cache._cache_file, CheckedEntries)


CALL = """
import sys
from simsoft.mechanics.rotation import half_sine_over
half_sine_over(0.5)
import simsoft
print(simsoft.__file__, sum(half_sine_over.stats.cache_hits.values()))
"""


def test_a_moved_checkout_compiles_nothing_again(tmp_path):
    """Code is found by what the package holds, not by where it lies."""
    place, moved = tmp_path / "here", tmp_path / "there"
    leave = shutil.ignore_patterns("__pycache__")
    shutil.copytree(PACKAGE, place / "simsoft", ignore=leave)
    environment = {**os.environ, "SIMSOFT_CACHE": str(tmp_path / "cache")}

    def hits(folder):
        found = subprocess.run(
            [sys.executable, "-c", CALL], cwd=folder, env=environment,
            capture_output=True, text=True,
        )  # fmt: skip
        path, count = found.stdout.split()
        assert Path(path).is_relative_to(folder)
        return int(count)

    assert hits(place) == 0
    assert hits(place) == 1
    place.rename(moved)
    assert hits(moved) == 1
    with (moved / "simsoft" / "mechanics" / "elastic.py").open("a") as other:
        other.write("# another kernel(file) has changed\n")
    assert hits(moved) == 0


posix = pytest.mark.skipif(not hasattr(os, "getuid"), reason="owners and modes")
root = pytest.mark.skipif(not hasattr(os, "getuid") or os.getuid() != 0, reason="only root gives")


@posix
def test_the_folder_is_made_for_the_user_alone(tmp_path):
    here = private(tmp_path / "cache", tmp_path / "cache" / "digest")
    assert stat.S_IMODE(here.stat().st_mode) == 0o700
    assert private(tmp_path / "cache", here) == here


@posix
@pytest.mark.parametrize("mode", [0o770, 0o707, 0o1777])
def test_a_folder_that_others_can_write_is_refused(tmp_path, mode):
    here = private(tmp_path / "cache", tmp_path / "cache" / "digest")
    here.chmod(mode)
    with pytest.raises(InputError, match="can be written by others"):
        private(tmp_path / "cache", here)


@posix
def test_a_root_that_others_can_write_is_refused_unless_they_cannot_replace(tmp_path):
    root_folder = tmp_path / "cache"
    private(root_folder, root_folder / "digest")
    root_folder.chmod(0o777)
    with pytest.raises(InputError, match="can be written by others"):
        private(root_folder, root_folder / "digest")
    root_folder.chmod(0o1777)
    private(root_folder, root_folder / "digest")


@posix
def test_an_entry_that_others_can_write_in_an_open_folder_is_refused(tmp_path):
    here = private(tmp_path / "cache", tmp_path / "cache" / "digest")
    (here / "k.nbc").write_bytes(b"")
    (here / "k.nbc").chmod(0o666)
    private(tmp_path / "cache", here)  # nobody else gets there
    here.chmod(0o755)
    with pytest.raises(InputError, match=r"k\.nbc: can be written by others"):
        private(tmp_path / "cache", here)


@posix
def test_a_link_is_refused(tmp_path):
    (tmp_path / "other").mkdir()
    (tmp_path / "cache").mkdir()
    (tmp_path / "cache" / "digest").symlink_to(tmp_path / "other")
    with pytest.raises(InputError, match="is a link"):
        private(tmp_path / "cache", tmp_path / "cache" / "digest")


@root
@pytest.mark.parametrize("name", ["cache", "cache/digest", "cache/digest/k.nbc"])
def test_what_belongs_to_another_user_is_refused(tmp_path, name):
    here = private(tmp_path / "cache", tmp_path / "cache" / "digest")
    (here / "k.nbc").write_bytes(b"")
    os.chown(tmp_path / name, 12345, 12345)
    with pytest.raises(InputError, match="belongs to another user"):
        private(tmp_path / "cache", here)


@posix
def test_the_command_line_refuses_in_one_line(tmp_path):
    (tmp_path / "cache").mkdir()
    (tmp_path / "cache").chmod(0o777)
    found = subprocess.run(
        [sys.executable, "-m", "simsoft", "run", str(CASE)],
        env={**os.environ, "SIMSOFT_CACHE": str(tmp_path / "cache")},
        capture_output=True,
        text=True,
    )
    assert found.returncode == 2
    (line,) = found.stderr.strip().splitlines()
    assert line.startswith(f"error: {tmp_path / 'cache'}: can be written by others")
    assert list((tmp_path / "cache").iterdir()) == []
