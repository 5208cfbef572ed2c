"""Where a poured lure ends: sizes, speeds and counts past which no model here was ever tried.

The table of limits bounds what the physics can mean at all, with room for published plates and
flags, which state a modulus. A case that states a durometer, or takes its modulus from a profile,
is a lure; past these edges its numbers would be nonsense, or take hours.
"""

from __future__ import annotations

from collections.abc import Iterator

from simsoft.case.model import Case, Part, Scenario
from simsoft.case.wording import Place, Problem

# Common practice, no source: nothing soft is poured or fished past these.
FASTEST = 5.0  # [m/s], of a stream or a tow
LONGEST_PART, LONGEST_BODY = 0.5, 0.6  # [m]
THINNEST, THICKEST = 0.35e-3, 0.1  # [m]
MOST_PARTS, MOST_SCENARIOS, MOST_SPEEDS = 40, 40, 60
# Of the work: a march of a rod takes these many steps in some minutes.
SHORTEST_STEP = 1e-6  # [s]
MOST_ELEMENTS = 200
WHY = "of a lure (a case for other things states `youngs_modulus`)"


def check_edges(case: Case) -> list[Problem]:
    """Return the problems of a lure past the edge of what the models were tried at."""
    found = list(_counts(case))
    if case.material.youngs_modulus is not None:
        return found
    if case.body is not None and case.body.length > LONGEST_BODY:
        found.append(_past(("body", "length"), case.body.length, f"at most {LONGEST_BODY:g} m"))
    for number, part in enumerate(case.parts):
        found += _of_part(part, ("parts", number))
    for number, scenario in enumerate(case.scenarios):
        found += _of_scenario(scenario, ("scenarios", number))
    step, elements = case.numerics.step, case.numerics.elements
    if step is not None and step < SHORTEST_STEP:
        found.append(_past(("numerics", "step"), step, f"at least {1e3 * SHORTEST_STEP:g} ms", "s"))
    if elements is not None and elements > MOST_ELEMENTS:
        text = f"is {elements}; at most {MOST_ELEMENTS} are allowed {WHY}"
        found.append(Problem(("numerics", "elements"), text))
    return found


def _counts(case: Case) -> Iterator[Problem]:
    for key, count, most in (
        ("parts", len(case.parts), MOST_PARTS),
        ("scenarios", len(case.scenarios), MOST_SCENARIOS),
    ):
        if count > most:
            yield Problem((key,), f"has {count} entries; at most {most} are allowed")
    for number, scenario in enumerate(case.scenarios):
        if len(scenario.speeds) > MOST_SPEEDS:
            text = f"has {len(scenario.speeds)} entries; at most {MOST_SPEEDS} are allowed"
            yield Problem(("scenarios", number, "speed"), text)


def _of_part(part: Part, place: Place) -> Iterator[Problem]:
    if part.length > LONGEST_PART:
        yield _past((*place, "length"), part.length, f"at most {LONGEST_PART:g} m")
    thin, thick = min(part.thickness.values), max(part.thickness.values)
    key = "diameter" if part.kind == "leg" else "thickness"
    if thin < THINNEST:
        yield _past((*place, key), thin, f"at least {1e3 * THINNEST:g} mm")
    if thick > THICKEST:
        yield _past((*place, key), thick, f"at most {1e3 * THICKEST:g} mm")


def _of_scenario(scenario: Scenario, place: Place) -> Iterator[Problem]:
    fastest = max(scenario.speeds, default=0.0)
    if fastest > FASTEST:
        yield _past((*place, "speed"), fastest, f"at most {FASTEST:g} m/s", "m/s")
    if scenario.max_speed is not None and scenario.max_speed > FASTEST:
        yield _past((*place, "max_speed"), scenario.max_speed, f"at most {FASTEST:g} m/s", "m/s")


def _past(place: Place, value: float, allowed: str, unit: str = "m") -> Problem:
    return Problem(place, f"is {value:.4g} {unit}; {allowed} is allowed {WHY}")
