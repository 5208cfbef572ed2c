"""Study: answers of the demo cases against element count and time step."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from simsoft.case.model import Case, Numerics
from simsoft.lure.parts import ELEMENTS
from simsoft.validate.studies.tools import (
    Solved,
    demo,
    only,
    signed_percent,
    solve_cases,
    table,
    table_number,
)

WANTED = 0.02  # share of the converged value the default has to stay within
FORMAL_ORDER = 2.0  # of rod and time scheme, taken where no order can be fitted
PLAUSIBLE_ORDER = (0.8, 4.0)  # fitted orders outside are not used to extrapolate
ALIKE = 1.0e-9  # relative difference below which answers count as equal
NAMES = {
    "start_speed": "start speed [m/s]",
    "start_frequency": "start frequency [Hz]",
    "flap_frequency": "frequency [Hz]",
    "stroke": "stroke [mm]",
    "fold_back": "fold-back [deg]",
}
UNITS = {"stroke": 1e3}
HALF = 0.5  # of the default step, at which elements are refined


@dataclass(frozen=True)
class Refinements:
    """How one demo case is refined.

    Attributes
    ----------
    name : str, of the demo case
    speed : float [m/s], of the march
    quantities : tuple of str
    marched : tuple of str, those that depend on the step
    counts : tuple of float, element counts as multiples of the default, ascending
    steps : tuple of float, steps as multiples of the default, descending
    duration : float or None [s], longest march
    """

    name: str
    speed: float
    quantities: tuple[str, ...]
    marched: tuple[str, ...]
    counts: tuple[float, ...] = (0.5, 1.0, 2.0)
    steps: tuple[float, ...] = (2.0, 1.0, 0.5)
    duration: float | None = None


BEAT = ("flap_frequency", "stroke", "fold_back")
START = ("start_speed", "start_frequency")
PLANS = (
    Refinements(
        "paddle_100",
        0.6,
        START + BEAT,
        START + BEAT,
        counts=(0.5, 1.0, 2.0, 4.0),
        steps=(2.0, 1.0, 0.5, 0.25),
    ),
    Refinements("curl_grub_75", 0.35, START + BEAT, BEAT),
    Refinements("ribbon_150", 0.6, START + BEAT, BEAT, duration=20.0),
    Refinements("claw_95", 0.4, (*START, "fold_back"), ("fold_back",)),
)


@dataclass(frozen=True)
class Trend:
    """Where a refined answer tends.

    Attributes
    ----------
    value : float, extrapolated to nothing
    order : float or None, fitted; None where the answers do not approach it evenly
    """

    value: float
    order: float | None


@dataclass(frozen=True)
class Refined:
    """One quantity of one demo case, refined.

    Attributes
    ----------
    quantity : str
    by_elements, by_step : tuple of float or None, one a refinement, coarse to fine
    elements, step : Limit or None; None for the step where it plays no part
    default : float or None, as a user gets it
    converged : float or None, both refinements taken to their limits
    """

    quantity: str
    by_elements: tuple[float | None, ...]
    by_step: tuple[float | None, ...]
    elements: Trend | None
    step: Trend | None
    default: float | None
    converged: float | None

    @property
    def error(self) -> float | None:
        """Error of the default against the converged answer [-]."""
        if self.default is None or self.converged is None:
            return None
        return (self.default - self.converged) / abs(self.converged)


@dataclass(frozen=True)
class Convergence:
    """The refinement of one demo case."""

    plan: Refinements
    counts: tuple[int, ...]
    steps: tuple[float, ...]
    unsettled: bool
    rows: tuple[Refined, ...]

    def row(self, quantity: str) -> Refined:
        """Return the row of one quantity."""
        return next(row for row in self.rows if row.quantity == quantity)


def extrapolate(values: Sequence[float], ratio: float = 2.0) -> Trend:
    """Return where a series of answers tends as size is divided by ``ratio`` again and again.

    Parameters
    ----------
    values : three or more answers, coarse to fine
    ratio : float, of neighbouring sizes

    Notes
    -----
    Richardson extrapolation (Roache 1997, Annu. Rev. Fluid Mech. 29:123) with the order fitted to
    the last three answers; with the formal order 2 where these do not approach a limit evenly.
    """
    coarse, middle, fine = values[-3:]
    first, last = middle - coarse, fine - middle
    if abs(last) <= ALIKE * abs(fine):
        return Trend(fine, None)
    order = None
    if first * last > 0.0:
        order = math.log(first / last) / math.log(ratio)
    low, high = PLAUSIBLE_ORDER
    used = order if order is not None and low <= order <= high else FORMAL_ORDER
    return Trend(fine + last / (ratio**used - 1.0), order)


def study() -> list[Convergence]:
    """Refine every demo case."""
    return [refined_case(plan) for plan in PLANS]


def refined_case(plan: Refinements) -> Convergence:
    """Run one demo case at all its refinements.

    Elements are refined at half the default step and the step at the default elements, so that
    each is seen alone and the two errors of the default add up.
    """
    case = only(demo(plan.name), "retrieve", speeds=(plan.speed,), duration=plan.duration)
    normal = ELEMENTS[case.parts[0].kind]
    counts = tuple(round(factor * normal) for factor in plan.counts)
    (plain,) = solve_cases([case])
    default_step = plain.steps[plan.speed]
    half = HALF * default_step
    steps = tuple(factor * default_step for factor in plan.steps)
    wanted = [(count, half) for count in counts] + [(normal, step) for step in steps]
    unique = list(dict.fromkeys(wanted))
    runs = dict(zip(unique, solve_cases([_with(case, *key) for key in unique]), strict=True))
    by_elements = [runs[count, half] for count in counts]
    by_step = [runs[normal, step] for step in steps]
    rows = tuple(_refined(plan, q, plain, by_elements, by_step) for q in plan.quantities)
    unsettled = any(run.unsettled for run in (plain, *runs.values()))
    return Convergence(plan, counts, steps, unsettled, rows)


def _with(case: Case, elements: int, step: float) -> Case:
    return replace(case, numerics=Numerics(elements, step))


def _refined(
    plan: Refinements,
    quantity: str,
    plain: Solved,
    by_elements: Sequence[Solved],
    by_step: Sequence[Solved],
) -> Refined:
    def numbers(runs: Sequence[Solved]) -> tuple[float | None, ...]:
        at = {} if quantity in START else {"speed": plan.speed}
        return tuple(run.number(quantity, **at) for run in runs)

    counted, stepped = numbers(by_elements), numbers(by_step)
    (default,) = numbers([plain])
    elements, step = _limit(counted), None
    converged = None if elements is None else elements.value
    if quantity in plan.marched:
        step = _limit(stepped)
        shared = stepped[plan.steps.index(HALF)]
        if converged is not None and step is not None and shared is not None:
            converged += step.value - shared
        else:
            converged = None
    return Refined(quantity, counted, stepped, elements, step, default, converged)


def _limit(values: Sequence[float | None]) -> Trend | None:
    known = [x for x in values if x is not None]
    return extrapolate(known) if len(known) == len(values) else None


def not_converged(results: Sequence[Convergence]) -> dict[tuple[str, str], float | None]:
    """Return case, quantity and error of every default answer that is not within 2 %."""
    return {
        (result.plan.name, row.quantity): row.error
        for result in results
        for row in result.rows
        if row.error is None or abs(row.error) > WANTED
    }


def section(results: Sequence[Convergence]) -> str:
    """Return the study as Markdown."""
    parts = [
        "## Convergence of the demo cases\n\n"
        "Elements are refined at half the default step, the step at the default element count. "
        "Order is fitted to the three finest answers; `none` where they do not approach a limit "
        "evenly (order 2 is then assumed). The last table compares the default with both "
        "limits together. A march counts as settled when strokes and periods repeat within 1 %, "
        "so differences of strokes well below that are noise.\n\n"
    ]
    for result in results:
        parts.append(_case_tables(result))
    parts.append(_summary(results))
    return "".join(parts)


def _case_tables(result: Convergence) -> str:
    plan = result.plan
    text = f"### {plan.name} at {plan.speed:g} m/s\n\n"
    if plan.duration is not None:
        text += f"Marched for up to {plan.duration:g} s, so that slow growth ends in a cycle.\n\n"
    if result.unsettled:
        text += "At least one of these marches did not settle.\n\n"
    head = ["elements", *map(str, result.counts), "order", "limit"]
    text += table(head, [_series(r, r.by_elements, r.elements) for r in result.rows])
    head = ["step [ms]", *(f"{1e3 * step:.3g}" for step in result.steps), "order", "limit"]
    marched = [r for r in result.rows if r.quantity in plan.marched]
    return text + "\n" + table(head, [_series(r, r.by_step, r.step) for r in marched]) + "\n"


def _series(row: Refined, values: Sequence[float | None], limit: Trend | None) -> list[str]:
    unit = UNITS.get(row.quantity, 1.0)
    shown = [table_number(None if x is None else unit * x, 5) for x in values]
    order = limit.order if limit is not None else None
    value = None if limit is None else unit * limit.value
    return [NAMES[row.quantity], *shown, table_number(order, 2), table_number(value, 5)]


def _summary(results: Sequence[Convergence]) -> str:
    rows = []
    for result in results:
        for row in result.rows:
            unit = UNITS.get(row.quantity, 1.0)
            error = row.error
            default = None if row.default is None else unit * row.default
            shown = "none" if error is None else signed_percent(error, 2)
            inside = "yes" if error is not None and abs(error) <= WANTED else "NO"
            rows.append(
                [result.plan.name, NAMES[row.quantity], table_number(default, 5), shown, inside]
            )
    missed = not_converged(results)
    count = sum(len(result.rows) for result in results)
    if missed:
        list_of = "; ".join(
            f"{name} {NAMES[q].split(' [')[0]} ({'none' if e is None else signed_percent(e)})"
            for (name, q), e in missed.items()
        )
        claim = (
            f"{count - len(missed)} of {count} default answers are within {WANTED:.0%} of the "
            f"extrapolated ones. Not within: {list_of}."
        )
        if None in missed.values():
            claim += " Where the error is none, a refinement has no answer to compare with."
    else:
        claim = f"All {count} default answers are within {WANTED:.0%} of the extrapolated ones."
    head = ["case", "quantity", "default", "error of the default", f"within {WANTED:.0%}"]
    return f"### Error of the default discretisation\n\n{claim}\n\n{table(head, rows)}\n"
