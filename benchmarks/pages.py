"""Measure the pages of the demo cases and write ``benchmarks/PAGES.md``.

``python benchmarks/pages.py FOLDER``; FOLDER holds ``NAME/results.h5`` for every
``cases/NAME.toml``, as ``simsoft run cases/NAME.toml --out FOLDER/NAME`` leaves it.
"""

import os
import platform
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest import mock

import simsoft.engine.run  # noqa: F401  what a run has loaded before it writes its page
from simsoft import __version__
from simsoft.report.html import page as pages
from simsoft.results.hdf5_reader import Stored, read_run

ROOT = Path(__file__).parents[1]
REPEATS = 3
PLAIN, WITH_SLIDERS, MOST = 0.5, 3.0, 500.0  # [s], [s], [kB]

HEAD = """# Pages

What `report.html` of every demo case costs a run, in seconds of one processor (the time that the
machine gave to others is left out), best of {n}, and how large it is. Written by `python
benchmarks/pages.py` (simsoft {version}, Python {python}) on a {cores}-core machine. Asked for: at
most {plain} s, with sliders {sliders} s, and {most:.0f} kB. A page has sliders where screening
serves a part.

| case | page [kB] | writing [s] | of it sliders [s] | met |
|---|--:|--:|--:|---|
"""


def seconds(stored: Stored) -> tuple[float, float]:
    """Return the least processor time [s] that a page took to write, and its size [kB]."""
    times, size = [], 0.0
    for _ in range(REPEATS):
        with TemporaryDirectory() as folder:
            begun = time.process_time()
            path = pages.write_page(stored, folder)
            times.append(time.process_time() - begun)
            size = path.stat().st_size / 1e3
    return min(times), size


def row(name: str, stored: Stored) -> str:
    """Return a line of the table."""
    whole, size = seconds(stored)
    with mock.patch.object(pages, "screened", return_value=None):
        plain, without = seconds(stored)
    sliders = size > without
    met = whole <= (WITH_SLIDERS if sliders else PLAIN) and size <= MOST
    told = f"{whole - plain:.2f}" if sliders else "-"
    return f"| {name} | {size:.0f} | {whole:.2f} | {told} | {'yes' if met else 'NO'} |\n"


def main(folder: Path) -> None:
    """Measure and write the page."""
    text = HEAD.format(
        n=REPEATS,
        version=__version__,
        python=platform.python_version(),
        cores=os.cpu_count(),
        plain=PLAIN,
        sliders=WITH_SLIDERS,
        most=MOST,
    )
    for case in sorted((ROOT / "cases").glob("*.toml")):
        text += row(case.stem, read_run(folder / case.stem / "results.h5"))
    (ROOT / "benchmarks" / "PAGES.md").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
