"""A disk that is full at every 4 kB of a sweep and of a run: one line, exit 1, resumed equal."""

from __future__ import annotations

import io
import shutil
from collections import Counter
from collections.abc import Callable, Iterable
from contextlib import redirect_stderr, redirect_stdout, suppress
from pathlib import Path
from unittest import mock

import inject
import sweeps

from simsoft.cli.main import main
from simsoft.core.files import is_damaged

RUN = ("records.json", "records.csv", "summary.txt")  # the others tell the time of the run


def full(
    use: Callable[[], object],
    out: Path,
    disk: inject.Disk,
    said: Path,
    sizes: Iterable[int],
    read: Callable[[], dict[str, bytes]],
) -> Counter[str]:
    """Return counts of what a command did on disks of the given sizes."""
    with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()), suppress(SystemExit):
        use()
    whole = read()
    found: Counter[str] = Counter()
    for size in sizes:
        shutil.rmtree(out, ignore_errors=True)
        disk.resize(size)
        status = inject.in_a_child(use, said)
        lines = said.read_text().strip().splitlines()
        errors = [line for line in lines if line.startswith("error:")]
        part = sweeps.parts_left(out)
        disk.resize(None)
        if status == 0:
            found["enough"] += 1
        elif status == 1 and len(errors) == 1 and not any("Traceback" in x for x in lines):
            found["one line, exit 1"] += 1
        else:
            found["wrong"] += 1
            print(f"{size}: exit status {status}: {lines[-3:]}")
        if part:
            found["parts left"] += 1
            print(f"{size}: {part}")
        if any(data != whole.get(name) for name, data in read().items()):
            found["half-written"] += 1
            print(f"{size}: {[n for n, d in read().items() if d != whole.get(n)]}")
        again = inject.in_a_child(use, said)
        same = again == 0 and read() == whole
        found["resumed equal" if same else "not equal"] += 1
    return found


def of_sweep(
    folder: Path, most: int | None = None, share: tuple[int, int] = (0, 1)
) -> Counter[str]:
    """Return the counts of a fast sweep on a disk of every size, or of ``most`` sizes."""
    case, _ = sweeps.warmed("fast", folder)
    with inject.disk(folder / "disk") as disk:
        out = disk.folder / "out"
        use = sweeps.sweep("fast", case, out)
        return full(use, out, disk, folder / "said", _sizes(use, out, most, share),
                    lambda: sweeps.written(out))  # fmt: skip


def of_run(folder: Path, most: int | None = None, share: tuple[int, int] = (0, 1)) -> Counter[str]:
    """Return the counts of a run; it is solved once and written at every size."""
    from simsoft.case.read import load
    from simsoft.engine import run as engine

    case = folder / "case.toml"
    case.write_text(sweeps.CASE)
    result = engine.run(load(case))
    with (
        inject.disk(folder / "disk") as disk,
        mock.patch.object(engine, "run", return_value=result),
    ):
        out = disk.folder / "out"

        def use() -> object:
            return main(["run", str(case), "--quiet", "--out", str(out)])

        def read() -> dict[str, bytes]:
            found = {n: (out / n).read_bytes() for n in RUN if (out / n).exists()}
            return found | {"damaged": b"x" if is_damaged(out / "results.h5") else b""}

        return full(use, out, disk, folder / "said", _sizes(use, out, most, share), read)


def _sizes(
    use: Callable[[], object], out: Path, most: int | None, share: tuple[int, int]
) -> list[int]:
    """Return the sizes to try: from one step up to what the whole output takes.

    Of ``share = (part, parts)`` every size that falls to this part.
    """
    with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()), suppress(SystemExit):
        use()
    steps = sum(-(-p.stat().st_size // inject.STEP) for p in out.rglob("*") if p.is_file()) + 8
    part, parts = share
    sizes = [inject.STEP * step for step in range(1 + part, steps + 1, parts)]
    return sizes if most is None else sizes[:: max(1, len(sizes) // most)]
