"""What the studies share: demo cases, many runs on all cores, records as numbers, tables."""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from multiprocessing import get_context

from simsoft.case.model import Case, Scenario
from simsoft.case.read import load
from simsoft.core.errors import InputError
from simsoft.engine.run import run
from simsoft.results.record import Record, select
from simsoft.validate.locate import checks_directory

ABSENT = "none"


@dataclass(frozen=True)
class Solved:
    """What a study keeps of a run: small enough to travel between processes.

    Attributes
    ----------
    records : tuple of Record
    steps : dict of step [s] by speed [m/s]
    unsettled : tuple of float [m/s], speeds whose march was cut off
    """

    records: tuple[Record, ...]
    steps: dict[float, float]
    unsettled: tuple[float, ...]

    def number(self, quantity: str, **at: float | int | str) -> float | None:
        """Return the number of the first record of a quantity at a condition, None for none."""
        found = select(self.records, quantity, **at)
        value = found[0].value if found else None
        return float(value) if isinstance(value, int | float) else None

    def word(self, quantity: str, **at: float | int | str) -> str:
        """Return the word of the first record of a quantity at a condition."""
        found = select(self.records, quantity, **at)
        return str(found[0].value) if found else ABSENT

    def point(self, quantity: str, **at: float | int | str) -> tuple[float, ...]:
        """Return the vector of the first record of a quantity at a condition."""
        value = select(self.records, quantity, **at)[0].value
        if not isinstance(value, tuple):
            raise TypeError(f"{quantity} is not a vector")
        return value


def demo(name: str) -> Case:
    """Return a demo case of the checkout, every part of it as a rod.

    Plates have a study of their own, which asks for them by name.

    Raises
    ------
    InputError
        If the package is installed without its checkout.
    """
    path = checks_directory().parent / "cases" / f"{name}.toml"
    if not path.is_file():
        raise InputError(f"{path}: the studies run from a checkout, which holds the demo cases")
    case = load(path)
    alone = tuple(replace(part, model="rod", body_ahead=None) for part in case.parts)
    return replace(case, parts=alone)


def only(case: Case, kind: str, **changes: object) -> Case:
    """Return a case with its scenarios of one kind alone, their fields replaced."""
    kept: tuple[Scenario, ...] = tuple(
        replace(s, **changes)  # type: ignore[arg-type]
        for s in case.scenarios
        if s.kind == kind
    )
    return replace(case, scenarios=kept)


def solve_case(case: Case, bands: bool = False) -> Solved:
    """Run a case, with bands or without, and keep its numbers."""
    found = run(case, bands=bands)
    return Solved(
        found.records,
        {trace.speed: trace.step for trace in found.traces},
        tuple(trace.speed for trace in found.traces if not trace.settled),
    )


def solve_cases(cases: Sequence[Case], *, bands: bool = False) -> list[Solved]:
    """Run cases on all cores; results in order."""
    workers = min(os.cpu_count() or 1, len(cases))
    with ProcessPoolExecutor(max_workers=workers, mp_context=get_context("spawn")) as pool:
        return list(pool.map(partial(solve_case, bands=bands), cases))


def table_number(value: float | None, digits: int = 4) -> str:
    """Return a number for a table, 'none' where there is none."""
    return ABSENT if value is None else f"{value:.{digits}g}"


def signed_percent(share: float, digits: int = 1) -> str:
    """Return a share as signed per cent."""
    return f"{100.0 * share:+.{digits}f} %"


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return a Markdown table, numbers to the right but for the first column."""
    lines = ["| " + " | ".join(head) + " |", "|---" + "|--:" * (len(head) - 1) + "|"]
    lines += ["| " + " | ".join(row) + " |" for row in rows]
    return "\n".join(lines) + "\n"
