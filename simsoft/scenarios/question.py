"""The questions to one part, by the word of the scenario; solvers are loaded when asked for."""

from __future__ import annotations

from collections.abc import Callable

from simsoft.case.model import Scenario
from simsoft.core.errors import SolveError
from simsoft.lure.parts import Strip
from simsoft.properties.water import Water
from simsoft.results.outcome import Outcome
from simsoft.scenarios.retrieve.marcher import Detail

Ask = Callable[[Strip, Water, dict[str, float], Scenario, Detail], Outcome]


def _hold(
    strip: Strip, water: Water, values: dict[str, float], scenario: Scenario, detail: Detail
) -> Outcome:
    from simsoft.scenarios.hold.driver import hold

    return hold(strip, water, values, scenario, elements=detail.elements)


def _retrieve(
    strip: Strip, water: Water, values: dict[str, float], scenario: Scenario, detail: Detail
) -> Outcome:
    from simsoft.scenarios.retrieve.driver import retrieve

    return retrieve(strip, water, values, scenario, detail)


def _cast(
    strip: Strip, _: Water, values: dict[str, float], scenario: Scenario, detail: Detail
) -> Outcome:
    from simsoft.scenarios.cast.tumble import tumble

    return tumble(strip, values, scenario, coarse=detail.elements is not None)


QUESTIONS: dict[str, Ask] = {"hold": _hold, "retrieve": _retrieve, "cast": _cast}


def solve(
    strip: Strip, water: Water, values: dict[str, float], scenario: Scenario, detail: Detail
) -> Outcome:
    """Answer one strip in one scenario at given input values, without bands.

    Raises
    ------
    SolveError
        The question is one to the whole lure.
    """
    ask = QUESTIONS.get(scenario.kind)
    if ask is None:
        raise SolveError(f"{scenario.name}: this question about the whole lure has no solver yet")
    return ask(strip, water, values, scenario, detail)
