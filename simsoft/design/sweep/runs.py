"""Which runs a design needs: its own water, and once more for every water a clause names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from simsoft.case.model import Case, Scenario
from simsoft.case.wishes import Clause
from simsoft.core.quantities import BEAT, FALL, REST, START, STILL, answered_by
from simsoft.core.quantities import WEIGHED as OF_SCALE

STARTS = answered_by(START)
BESIDE = answered_by(BEAT, REST)  # what a retrieve answers at its speeds
STREAM = (*STARTS, *BESIDE)
WEIGHED, FALLS = answered_by(OF_SCALE), answered_by(FALL)
FOULS = "fouling_sides"  # answered by a cast alone
CLEARS = "hook_clearance"  # answered by every scenario: at rest, over the beat, on the cast
MARCHED = (*BESIDE, CLEARS)
SAME = 1e-6  # [K] and relative speed: closer than this is the same


@dataclass(frozen=True)
class RunSpec:
    """One run of every design.

    Attributes
    ----------
    overrides : tuple of str, set before those of the design
    after : tuple of str, set after those of the design
    scenarios : tuple of str or None, those to solve; None for all
    temperature : float or None [K], under which the answers are filed; None for the case's own
    """

    overrides: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    scenarios: tuple[str, ...] | None = None
    temperature: float | None = None


def same(a: float, b: float) -> bool:
    """Tell whether two speeds or temperatures are the same but for rounding."""
    return abs(a - b) <= SAME * max(1.0, abs(a))


def own_water(clause: Clause, case: Case) -> bool:
    """Tell whether a clause is about the water of the case itself."""
    return clause.temperature is None or same(clause.temperature, case.water.temperature)


def run_specs(case: Case, *, only_brief: bool = False) -> tuple[RunSpec, ...]:
    """Return the runs that a case and its brief ask for.

    Parameters
    ----------
    case : Case
    only_brief : bool, leave out everything that no clause asks for
    """
    here = [clause for clause in case.brief if own_water(clause, case)]
    specs = []
    if not only_brief:
        specs.append(RunSpec(_more_speeds(case, here)))
    elif here or not case.brief:
        names, overrides = _cut(case, here)
        specs.append(RunSpec(overrides, (), names))
    elsewhere = [clause for clause in case.brief if not own_water(clause, case)]
    for temperature in sorted({c.temperature for c in elsewhere if c.temperature is not None}):
        wanted = [c for c in elsewhere if c.temperature == temperature]
        names, overrides = _cut(case, wanted)
        water = f"water.temperature={temperature:.9g} K"
        specs.append(RunSpec(overrides, (water,), names, temperature))
    return tuple(specs)


def scenarios_of(clause: Clause, case: Case) -> list[Scenario]:
    """Return the scenarios of a case that answer a clause."""
    if clause.quantity in WEIGHED:
        return []
    if clause.scenario is not None:
        return [s for s in case.scenarios if s.name == clause.scenario]
    if clause.quantity in STREAM:
        return [s for s in case.scenarios if s.kind == "retrieve"]
    kinds = dict.fromkeys(("cast_distance", FOULS), ("cast",)) | dict.fromkeys(
        answered_by(STILL), ("hold",)
    )
    kinds |= dict.fromkeys(FALLS, ("sink",))
    wanted = kinds.get(clause.quantity)
    return [s for s in case.scenarios if wanted is None or s.kind in wanted]


def _more_speeds(case: Case, clauses: Sequence[Clause]) -> tuple[str, ...]:
    """Return the overrides that add the brief's speeds to the retrieves that answer it."""
    found = []
    for scenario in case.scenarios:
        if scenario.kind != "retrieve":
            continue
        wanted = [c.speed for c in clauses if scenario in scenarios_of(c, case)]
        missing = [
            speed
            for speed in dict.fromkeys(wanted)
            if speed is not None and not any(same(speed, other) for other in scenario.speeds)
        ]
        if missing:
            found.append(_speeds(scenario, [*scenario.speeds, *missing]))
    return tuple(found)


def _speeds(scenario: Scenario, speeds: Sequence[float]) -> str:
    listed = ", ".join(f'"{speed:.9g} m/s"' for speed in sorted(speeds))
    return f"scenarios.{scenario.name}.speed=[{listed}]"


def _cut(case: Case, clauses: Sequence[Clause]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the scenarios that some clauses need and the overrides that leave out the rest."""
    names, overrides = [], []
    for scenario in case.scenarios:
        asking = [c for c in clauses if scenario in scenarios_of(c, case)]
        if not asking:
            continue
        names.append(scenario.name)
        if scenario.kind == "retrieve":
            overrides += _cut_retrieve(scenario, asking)
    return tuple(names), tuple(overrides)


def _cut_retrieve(scenario: Scenario, asking: Sequence[Clause]) -> list[str]:
    path = f"scenarios.{scenario.name}"
    speeds: set[float] = set()
    for clause in asking:
        if clause.quantity not in STARTS:
            speeds |= set(scenario.speeds) if clause.speed is None else {clause.speed}
    result = []
    if not any(clause.quantity in STARTS for clause in asking) and scenario.onset:
        result.append(f"{path}.onset=false")
    if not any(clause.quantity in MARCHED for clause in asking) and scenario.march:
        result.append(f"{path}.march=false")
    if not speeds and scenario.speeds:
        speeds = {min(scenario.speeds)}
    if speeds:
        result.append(_speeds(scenario, sorted(speeds)))
    # a cut list of speeds must not shorten the search for the start
    if scenario.max_speed is None and scenario.speeds and scenario.onset:
        result.append(f"{path}.max_speed={_search_end(scenario):.9g} m/s")
    return result


def _search_end(scenario: Scenario) -> float:
    from simsoft.solvers.start_speed import top_speed

    return top_speed(scenario.max_speed, scenario.speeds)
