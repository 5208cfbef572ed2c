"""A marched and a fast sweep, a run, and what they leave in a folder."""

from __future__ import annotations

import io
import shutil
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout, suppress
from pathlib import Path

from simsoft.cli.main import main

CASE = """
title = "Test kicker"
[material]
durometer = "46 OO"
[[parts]]
name = "tail"
kind = "paddle-tail"
length = "11 mm"
width = "4 mm"
thickness = "2 mm"
paddle_diameter = "15 mm"
paddle_thickness = "3 mm"
paddle_offset = "5 mm"
[numerics]
elements = 5
[[scenarios]]
name = "retrieve"
kind = "retrieve"
speed = ["0.5 m/s"]
"""
SWEEPS = {
    "marched": ["--vary", "parts.tail.thickness=1.6:2.2:0.1 mm"],
    "fast": ["--fast", "--vary", "parts.tail.thickness=1.2:2.8:0.02 mm"],
}
FILES = ("sweep.h5", "sweep.csv")


def sweep(kind: str, case: Path, out: Path) -> Callable[[], object]:
    """Return the command of a sweep."""
    words = ["sweep", str(case), "--workers", "1", "--quiet", "--out", str(out)]
    return lambda: main([*words, *SWEEPS[kind]])


def written(out: Path) -> dict[str, bytes]:
    """Return the finished files of a sweep by name."""
    return {name: (out / name).read_bytes() for name in FILES if (out / name).exists()}


def warmed(kind: str, folder: Path) -> tuple[Path, dict[str, bytes]]:
    """Return the case and the finished files of a sweep, everything compiled and imported."""
    case = folder / "case.toml"
    case.write_text(CASE)
    out = folder / "whole"
    with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()), suppress(SystemExit):
        sweep(kind, case, out)()
    found = written(out)
    shutil.rmtree(out)
    return case, found


def parts_left(out: Path) -> list[str]:
    """Return the names of files under way."""
    return [path.name for path in out.glob(".*.part*")] if out.exists() else []
