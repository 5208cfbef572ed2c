"""From axes to designs: a grid or a low-discrepancy sample, linked values kept in proportion."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from simsoft.case.wording import given
from simsoft.core.errors import InputError
from simsoft.design.case_tables import quantities, replaced, value_at
from simsoft.design.sweep.axis import Axis
from simsoft.design.text_number import read_quantity

MOST_DESIGNS = 2_000_000


@dataclass(frozen=True)
class Design:
    """One point of a sweep.

    Attributes
    ----------
    index : int
    values : tuple of str, one for each axis, as they stand in the case
    overrides : tuple of str, ``PATH=VALUE``, linked values included
    """

    index: int
    values: tuple[str, ...]
    overrides: tuple[str, ...]


@dataclass(frozen=True)
class Link:
    """A value kept in the base case's proportion to a varied one."""

    path: str
    follows: str


@dataclass(frozen=True)
class Plan:
    """What a sweep runs through.

    Attributes
    ----------
    axes : tuple of Axis
    links : tuple of Link
    sample : int or None, number of points of a scrambled Sobol sample; None for the full grid
    seed : int, of the sample
    """

    axes: tuple[Axis, ...]
    links: tuple[Link, ...] = ()
    sample: int | None = None
    seed: int = 1

    @property
    def count(self) -> int:
        """Number of designs."""
        if self.sample is not None:
            return self.sample
        return math.prod(len(axis.values) for axis in self.axes)


def read_link(text: str) -> Link:
    """Return the link of one ``--keep PATH/FOLLOWED`` option."""
    path, slash, follows = (piece.strip() for piece in text.partition("/"))
    if not slash or not path or not follows:
        raise InputError(
            f"--keep {given(text)[1:-1]}: PATH/VARIED is needed, such as "
            "parts.tail.length/parts.tail.thickness"
        )
    return Link(path, follows)


def check_plan(plan: Plan, tables: dict[str, Any]) -> None:
    """Raise InputError where a plan cannot be laid out on the tables of its base case."""
    problems = []
    paths = [axis.path for axis in plan.axes]
    for axis in plan.axes:
        if plan.sample is None and not axis.values:
            problems.append(
                f"--vary {axis.path}: FROM:TO has no step; give FROM:TO:STEP, or --sample N"
            )
        if paths.count(axis.path) > 1:
            problems.append(f"--vary {axis.path}: is varied twice")
    for link in plan.links:
        if link.follows not in paths:
            problems.append(f"--keep {link.path}/{link.follows}: {link.follows} is not varied")
        elif link.path in paths:
            problems.append(f"--keep {link.path}/{link.follows}: {link.path} is varied itself")
        else:
            for path in (link.path, link.follows):
                if not quantities(value_at(tables, path)):
                    problems.append(
                        f"--keep {link.path}/{link.follows}: the case says no number for {path}"
                    )
    if not plan.axes:
        problems.append("nothing is varied; --vary PATH=FROM:TO:STEP is needed")
    if plan.count > MOST_DESIGNS:
        problems.append(f"{plan.count} designs are asked for; at most {MOST_DESIGNS} are allowed")
    if problems:
        raise InputError(list(dict.fromkeys(problems)))


def designs(plan: Plan, tables: dict[str, Any]) -> Iterator[Design]:
    """Yield the designs of a plan in their order; ``tables`` are those of the base case."""
    rows = _grid(plan.axes) if plan.sample is None else _sample(plan)
    for index, values in enumerate(rows):
        overrides = [f"{axis.path}={v}" for axis, v in zip(plan.axes, values, strict=True)]
        overrides += [_linked(link, plan.axes, values, tables) for link in plan.links]
        yield Design(index, values, tuple(overrides))


def _grid(axes: Sequence[Axis]) -> Iterator[tuple[str, ...]]:
    counts = [len(axis.values) for axis in axes]
    for number in range(math.prod(counts)):
        values = []
        for axis, count in zip(reversed(axes), reversed(counts), strict=True):
            number, place = divmod(number, count)
            values.append(axis.values[place])
        yield tuple(reversed(values))


def _sample(plan: Plan) -> Iterator[tuple[str, ...]]:
    """Yield a scrambled Sobol sample (Owen 1998, as in scipy.stats.qmc)."""
    from scipy.stats import qmc

    total = plan.count
    engine = qmc.Sobol(len(plan.axes), scramble=True, rng=plan.seed)
    # all points at once: the points of a sample must not depend on how they are handed out
    for row in engine.random(2 ** max(0, math.ceil(math.log2(total))))[:total]:
        yield tuple(axis.between(float(x)) for axis, x in zip(plan.axes, row, strict=True))


def _linked(
    link: Link, axes: Sequence[Axis], values: tuple[str, ...], tables: dict[str, Any]
) -> str:
    place = next(i for i, axis in enumerate(axes) if axis.path == link.follows)
    now = read_quantity(values[place])
    before = quantities(value_at(tables, link.follows))[0]
    raw = value_at(tables, link.path)
    if now is None or now.unit.lower() != before.unit.lower() or before.number == 0:
        raise InputError(
            f"--keep {link.path}/{link.follows}: {given(values[place])} cannot be compared with "
            f"{given(before.text)} of the case; the same unit is needed"
        )
    factor = float(now.number / before.number)
    return f"{link.path}={replaced(raw, [item.times(factor) for item in quantities(raw)])}"
