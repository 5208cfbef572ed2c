"""The one door to every question, by the word of its scenario; solvers are loaded when asked for.

A run and its bands, sweep, pick, tolerance, calibrate and the explorer ask here, each with a
detail of its own. The recipe and the weigh window turn a question round and ask for falls alone.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING

from simsoft.case.model import Scenario
from simsoft.core.errors import SolveError
from simsoft.lure.parts import Strip
from simsoft.properties.water import Water
from simsoft.results.outcome import Outcome
from simsoft.scenarios.retrieve.marcher import Detail

if TYPE_CHECKING:
    from simsoft.lure.assembly import Whole
    from simsoft.lure.free_lure import Values
    from simsoft.scenarios.free.ride import FreeDetail, Outcomes

    AskWhole = Callable[[Whole, Values | None, Scenario, FreeDetail], Outcomes]

Ask = Callable[[Strip, Water, dict[str, float], Scenario, Detail], Outcome]


def _hold(
    strip: Strip, water: Water, values: dict[str, float], scenario: Scenario, detail: Detail
) -> Outcome:
    from simsoft.scenarios.hold.driver import hold

    return hold(strip, water, values, scenario, elements=detail.elements)


def _retrieve(
    strip: Strip, water: Water, values: dict[str, float], scenario: Scenario, detail: Detail
) -> Outcome:
    if detail.screened:
        from simsoft.scenarios.screening import screen_part

        return screen_part(strip, water, values, scenario)
    from simsoft.scenarios.retrieve.driver import retrieve

    return retrieve(strip, water, values, scenario, detail)


def _cast(
    strip: Strip, _: Water, values: dict[str, float], scenario: Scenario, detail: Detail
) -> Outcome:
    from simsoft.scenarios.cast.tumble import tumble

    return tumble(strip, values, scenario, coarse=detail.elements is not None)


QUESTIONS: dict[str, Ask] = {"hold": _hold, "retrieve": _retrieve, "cast": _cast}
SCREENED = Detail(screened=True, pictures=False)


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


def solve_whole(
    whole: Whole, values: Values | None, scenario: Scenario, detail: FreeDetail
) -> Outcomes:
    """Answer the whole lure in one scenario at given input values, without bands.

    Returns
    -------
    dict of Outcome by part, the empty word for the lure; each part's says what it is solved as

    Raises
    ------
    SolveError
        The lure could not be solved.
    """
    from simsoft.scenarios.hold.driver import add_model

    word = "tow" if scenario.free else scenario.kind
    ask: AskWhole = getattr(import_module(f"simsoft.scenarios.free.{word}"), word)
    outcomes = ask(whole, values, scenario, detail)
    for strip in whole.strips:
        add_model(outcomes[strip.name], strip)
    return outcomes
