"""What a bug report needs: versions, machine, graphics card, cache."""

from __future__ import annotations

import os
import platform
import re
import sys
from importlib import metadata
from pathlib import Path

from simsoft import __version__

NEEDED = (
    *("numpy", "scipy", "numba", "matplotlib", "h5py", "pydantic", "pint", "click", "rich"),
    *("threadpoolctl", "tomlkit"),
)
EXTRA = (
    "av",
    "distributed",
    "trimesh",
    "manifold3d",
    "cascadio",
    "shapely",
    "svgelements",
    "ezdxf",
    "numba-cuda",
)
CARDS = Path("/proc/driver/nvidia/gpus")
MEMORY = Path("/proc/meminfo")
GIBIBYTE = 2.0**30


def about_lines() -> list[str]:
    """Return what a bug report needs, one fact a line."""
    from simsoft.core.compiled import cache_directory, is_cold
    from simsoft.core.machine import cores

    here = cache_directory()
    state = "empty, the next run compiles" if is_cold() else f"{_size(here) / 1e6:.0f} MB"
    return [
        f"simsoft {__version__}",
        f"python {platform.python_version()} ({sys.executable})",
        f"system {platform.platform()}",
        f"cores {cores()} of {os.cpu_count()}{_memory()}",
        f"card {', '.join(_cards()) or 'none seen'}; runs need none",
        f"cache {here} ({state})",
        *(f"{name} {_version(name) or 'MISSING'}" for name in NEEDED),
        *(f"{name} {_version(name) or 'not installed (optional)'}" for name in EXTRA),
    ]


def _memory() -> str:
    try:
        found = re.search(r"MemTotal:\s+(\d+) kB", MEMORY.read_text(encoding="utf-8"))
    except OSError:
        return ""
    return "" if found is None else f", memory {1024 * int(found[1]) / GIBIBYTE:.0f} GiB"


def _cards() -> list[str]:
    """Return the names of the graphics cards that the driver tells of."""
    names = []
    for told in sorted(CARDS.glob("*/information")):
        try:
            found = re.search(r"Model:\s+(.+)", told.read_text(encoding="utf-8"))
        except OSError:
            continue
        names += [found[1].strip()] if found else []
    return names


def _version(name: str) -> str | None:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return None


def _size(directory: Path) -> int:
    """Return the size [bytes] of all files below a directory."""
    return sum(path.stat().st_size for path in directory.rglob("*") if path.is_file())
