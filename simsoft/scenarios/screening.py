"""A part screened without a time march; of a paddle, start speed and rate in milliseconds."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from simsoft.bodies.answers.beat import TUMBLE
from simsoft.bodies.answers.stream import say_root, say_shading
from simsoft.bodies.rod.screening import ASIDE, FOLD, FOUND, FREQUENCY, GROWTH, screen
from simsoft.bodies.rod.screening_kernel import Rods
from simsoft.bodies.rod.stability import resting
from simsoft.case.model import Scenario
from simsoft.lure.parts import Specimen, Strip, law_of
from simsoft.lure.rod_model import build_rod
from simsoft.properties.water import Water
from simsoft.results.outcome import Outcome
from simsoft.results.record import COARSE
from simsoft.scenarios.retrieve.driver import retrieve
from simsoft.scenarios.retrieve.marcher import Detail
from simsoft.solvers.start_speed import top_speed

ELEMENTS = 6
COARSER = 4  # a part that is no paddle is screened with so many times fewer elements,
FEWEST = 8  # but not with fewer than this
FARTHEST = 1.5  # times the start speed: beyond, the beat may be another one than small motions say
# 32 paddles of all offsets, stems and durometers against the march
# (tests/scenarios/test_screening.py)
BASIS = (
    "screening: growth of small motions of a coarse rod, no march; start within 3 % of the march, "
    "rate within 12 % up to 1.5 times the start"
)
BEYOND = "past 1.5 times the start the beat may be another one than small motions say; march it"
MARCH_IT = "the paddle beats: how far, and where it hangs on average, only a march tells"
UNSURE = "the rest shape turns aside there: the screening says nothing, march it"
LOST = "no rest shape found by the screening; march it"
LEFT = (BEYOND, MARCH_IT, UNSURE, LOST)


def can_screen(strip: Strip, scenario: Scenario) -> bool:
    """Tell whether a strip in a scenario is a stiff paddle held in a stream."""
    held = scenario.kind == "retrieve" and not scenario.free
    return held and strip.swings_stiff


def left_to_the_march(reason: str | None) -> bool:
    """Tell whether a missing number is only one that the screening does not tell."""
    return reason is not None and reason.endswith(LEFT)


def screen_part(
    strip: Strip, surrounding: Water, values: dict[str, float], scenario: Scenario
) -> Outcome:
    """Answer one strip in a stream without any march: start, rest shapes and what follows of them.

    Parameters
    ----------
    strip : Strip
    surrounding : Water
    values : dict, input values by name
    scenario : Scenario, 'retrieve'
    """
    if can_screen(strip, scenario):
        return screen_paddle(strip, surrounding, values, scenario)
    detail = Detail(
        elements=min(strip.elements, max(FEWEST, strip.elements // COARSER)), pictures=False
    )
    outcome = retrieve(strip, surrounding, values, replace(scenario, march=False), detail)
    for key, answer in outcome.answers.items():
        outcome.answers[key] = replace(answer, basis=answer.basis + COARSE)
    return outcome


def screen_paddle(
    strip: Strip, surrounding: Water, values: dict[str, float], scenario: Scenario
) -> Outcome:
    """Return start speed and rates of a paddle, and fold-back where it is still, all screening.

    Parameters
    ----------
    strip : Strip, for which ``can_screen`` holds
    surrounding : Water
    values : dict, input values by name
    scenario : Scenario, 'retrieve'
    """
    outcome = Outcome()
    unit = build_rod(
        Specimen(strip, surrounding, values, gravity=scenario.gravity, elements=ELEMENTS)
    )
    modulus = values["modulus"]
    moving = unit._replace(
        stiffness=unit.stiffness * modulus,
        paddle=unit.paddle._replace(steady_turning=np.zeros(2)),
    )
    rods = Rods(resting(unit, modulus), moving, unit)
    speeds = np.array(sorted(speed for speed in scenario.speeds if speed > 0.0))
    answers = np.zeros((len(speeds), 5))
    start = np.zeros(5)
    top = top_speed(scenario.max_speed, scenario.speeds)
    direction = values.get("shading", 1.0) * np.asarray(scenario.stream_direction, dtype=float)
    say_shading(outcome, strip, values)
    say_root(outcome, strip)
    first = screen(
        rods, law_of(strip, values), speeds, direction, scenario.shear, top, answers, start
    )
    if first < 0.0:
        outcome.lack("start_speed", "m/s", BASIS, LOST)
        answers[:, FOUND] = 0.0
    elif scenario.onset:
        _start(outcome, start, top)
    for speed, row in zip(speeds, answers, strict=True):
        _at_speed(outcome, float(speed), row, FARTHEST * float(start[0]))
    return outcome


def _start(outcome: Outcome, start: np.ndarray, top: float) -> None:
    speed, frequency, last, aside, found = (float(x) for x in start)
    if speed > 0.0:
        outcome.add("start_speed", speed, "m/s", BASIS)
        outcome.add("start_frequency", frequency, "Hz", BASIS)
        return
    if aside or not found:
        reason = f"small motions die out below {last:.3g} m/s; {UNSURE if aside else LOST}"
    else:
        reason = f"small motions die out at every speed up to {top:.3g} m/s"
    outcome.lack("start_speed", "m/s", BASIS, reason)
    outcome.lack("start_frequency", "Hz", BASIS, reason)


def _at_speed(outcome: Outcome, speed: float, row: np.ndarray, farthest: float) -> None:
    reason = "" if row[FOUND] else LOST
    if row[ASIDE]:
        reason = UNSURE
    quantities = {"flap_frequency": "Hz", "stroke": "m", "fold_back": "deg", "verdict": ""}
    if reason or row[GROWTH] > 0.0:
        for quantity, unit in quantities.items():
            outcome.lack(quantity, unit, BASIS, reason or MARCH_IT, speed=speed)
        if not reason and speed > farthest:
            outcome.lack("flap_frequency", "Hz", BASIS, BEYOND, speed=speed)
        elif not reason:
            outcome.add("flap_frequency", float(row[FREQUENCY]), "Hz", BASIS, speed=speed)
        return
    outcome.lack("flap_frequency", "Hz", BASIS, "the part does not beat", speed=speed)
    outcome.add("stroke", 0.0, "m", BASIS, speed=speed)
    fold = float(row[FOLD])
    if fold <= TUMBLE:
        outcome.add("fold_back", math.degrees(fold), "deg", BASIS, speed=speed)
    else:
        outcome.lack("fold_back", "deg", BASIS, "folds past 108 deg", speed=speed)
    word = "still" if fold <= TUMBLE else "tumbles / curls up"
    outcome.add("verdict", word, "", BASIS, speed=speed)
