"""What became of a spoilt file: measured, refused in one clear line, or a defect by its kind.

Defects: ``traceback``, ``warning`` (of a library, or anything on the user's screen), ``hang``,
``not finite``, ``unread`` (what was written is refused by the project's own reader),
``unprintable`` (an invisible character reaches the page), ``long refusal``.
"""

from __future__ import annotations

import json
import logging
import os
import signal
import sys
import tempfile
import tomllib
import traceback
import warnings
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stderr
from datetime import UTC, datetime
from pathlib import Path

from simsoft.aquarium.bench.pool import bench_values
from simsoft.aquarium.files.profile_text import profile_text
from simsoft.aquarium.files.read import measure_files, results_text
from simsoft.aquarium.measured import Measured
from simsoft.case.profile import read_profile
from simsoft.case.read import load
from simsoft.core.errors import InputError
from simsoft.report.text.tank import measured_json, measured_page

LONGEST = 10.0  # [s], then it counts as a hang
SLOWEST_REFUSAL = 2.0  # [s] of a processor
LONGEST_LINE = 1000  # characters of a refusal
FINE = ("measured", "meshed", "understood", "refused", "read")


class HangError(BaseException):
    """Time is up."""


@contextmanager
def time_limit(seconds: float) -> Iterator[None]:
    """Raise HangError in the block when it has had so many seconds of a processor."""

    def stop(*_: object) -> None:
        raise HangError

    kept = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, kept)


def _processor() -> float:
    """Return the seconds of a processor so far, its children's too; a busy machine is not slow."""
    return sum(os.times()[:4])


@contextmanager
def screen() -> Iterator[Callable[[], str]]:
    """Catch what the block writes to the screen as a user sees it, from compiled code too."""
    kept = os.dup(2)
    with tempfile.TemporaryFile() as file:
        os.dup2(file.fileno(), 2)

        def seen() -> str:
            sys.stderr.flush()
            file.seek(0)
            return file.read().decode(errors="replace")

        try:
            with os.fdopen(os.dup(2), "w") as stream, redirect_stderr(stream):
                handler = logging.StreamHandler(stream)  # where none is, Python prints warnings
                handler.setLevel(logging.WARNING)
                logging.getLogger().addHandler(handler)
                yield seen
        finally:
            logging.getLogger().removeHandler(handler)
            os.dup2(kept, 2)
            os.close(kept)


def judged(use: Callable[[], str]) -> tuple[str, str]:
    """Return the outcome of a use of a file, and what was said."""
    with screen() as seen:
        outcome, said = _judged(use)
        written = seen()
    if written and outcome in FINE:
        return "warning", f"on the screen: {written}"
    return outcome, said


def _judged(use: Callable[[], str]) -> tuple[str, str]:
    begun = _processor()
    try:
        with time_limit(LONGEST), warnings.catch_warnings():
            warnings.simplefilter("error")
            outcome, said = use(), ""
    except InputError as error:
        outcome, said = "refused", "\n".join(error.problems)
        if not all(line.isprintable() for line in error.problems):
            outcome = "unprintable"
        elif any(len(line) > LONGEST_LINE for line in error.problems):
            outcome = "long refusal"
        elif _processor() - begun > SLOWEST_REFUSAL:
            outcome = "slow refusal"
    except HangError:
        outcome, said = "hang", traceback.format_exc(limit=-4)
    except Warning as warning:
        outcome, said = "warning", f"{warning}\n{traceback.format_exc(limit=-4)}"
    except Exception:
        outcome, said = "traceback", traceback.format_exc(limit=-4)
    return outcome, said


def of_measurement(path: Path, folder: Path) -> tuple[str, str]:
    """Return what becomes of a measurement file, results and profile written and read again."""

    def use() -> str:
        found = measure_files([path])
        if not found:
            return "read"
        json.loads(measured_json("0", path.name, found))
        page = measured_page(found)
        if not page.replace("\n", "").isprintable():
            return "unprintable"
        return unread(found, folder) or "measured"

    return judged(use)


def unread(found: list[Measured], folder: Path) -> str:
    """Return what is wrong with the results or the profile of measurements, '' for nothing."""
    results, profile = folder / "results.csv", folder / "shop.toml"
    results.write_text(results_text(found), encoding="utf-8")
    try:
        again = measure_files([results])
    except InputError as error:
        raise RuntimeError(f"own results refused: {error}") from error
    before = [(m.quantity, m.run, m.value is None, m.clear, m.unit) for m in found]
    if [(m.quantity, m.run, m.value is None, m.clear, m.unit) for m in again] != before:
        raise RuntimeError(f"own results read differently: {again}")
    values, _ = bench_values(found)
    if values:
        text = profile_text("shop", values, [results], "0", datetime.now(UTC), name="shop.toml")
        profile.write_text(text, encoding="utf-8")
        try:
            read_profile(profile)
        except InputError as error:
            raise RuntimeError(f"own profile refused: {error}") from error
    return ""


def of_case(path: Path) -> tuple[str, str]:
    """Return what becomes of a case file."""

    def use() -> str:
        case = load(path)
        tomllib.loads(case.text)
        if not all(line.isprintable() for line in (case.title, *case.warnings)):
            return "unprintable"
        return "read"

    return judged(use)


def table(counts: dict[str, Counter[str]]) -> str:
    """Return counts by kind and outcome as a Markdown table."""
    heads = sorted(
        {word for row in counts.values() for word in row}, key=lambda w: (w not in FINE, w)
    )
    lines = ["| kind | files | " + " | ".join(heads) + " |", "| --- " * (len(heads) + 2) + "|"]
    for kind, row in counts.items():
        cells = " | ".join(str(row[word]) for word in heads)
        lines.append(f"| {kind} | {sum(row.values())} | {cells} |")
    return "\n".join(lines)
