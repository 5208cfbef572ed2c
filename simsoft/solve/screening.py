"""A wake-driven paddle screened without a time march: start, beat and stroke in milliseconds."""

from __future__ import annotations

import math

import numpy as np

from simsoft.case.model import Scenario
from simsoft.lure import DWELL_FREQUENCY, Strip, build_rod
from simsoft.solve.cycle import SHIVER_FRACTION, TUMBLE
from simsoft.solve.onset import resting
from simsoft.solve.outcome import Outcome
from simsoft.solve.screening_balance import FLUTTERS, FOLD, FOUND, FREQUENCY, STROKE, screen
from simsoft.solve.screening_kernel import Rods, Stuff
from simsoft.solve.start import START_FRACTION, top_speed
from simsoft.water import Water

ELEMENTS = 6
# 48 paddles about the demo kicker against the march, nine in ten of them; a soft one in fifty
# beats by its own flutter below the start that the balance gives (tests/solve/test_screening.py)
BASIS = (
    "screening: harmonic balance of the wake oscillator, no march; nine designs in ten within "
    "10 % of the march in start speed and beat; stroke within 20 % up to the start, 35 % too high "
    "at 1.5 times it"
)
UNSURE = "the rest shape flutters by itself there: the balance says nothing, march it"
LOST = "no rest shape found by the screening; march it"


def can_screen(strip: Strip, scenario: Scenario) -> bool:
    """Tell whether a strip in a scenario is a wake-driven paddle in a stream."""
    held = scenario.kind == "retrieve" and not scenario.free
    if not held or strip.part.paddle is None or strip.model != "rod":
        return False
    return strip.part.loads.shedding is not False and strip.inputs["wake_moment"].value > 0.0


def screen_paddle(
    strip: Strip, surrounding: Water, values: dict[str, float], scenario: Scenario
) -> Outcome:
    """Return start speed, beat, stroke, fold-back and verdict of a paddle, all screening.

    Parameters
    ----------
    strip : Strip, for which ``can_screen`` holds
    surrounding : Water
    values : dict, input values by name
    scenario : Scenario, 'retrieve'
    """
    outcome = Outcome()
    unit = build_rod(strip, surrounding, values, gravity=scenario.gravity, elements=ELEMENTS)
    modulus = values["modulus"]
    rods = Rods(resting(unit, modulus), unit._replace(stiffness=unit.stiffness * modulus), unit)
    stuff = Stuff(
        modulus,
        strip.rate_exponent,
        DWELL_FREQUENCY,
        -1.0 if strip.kelvin_voigt is None else strip.kelvin_voigt,
        values.get("loss_factor", 0.0),
    )
    speeds = np.array(sorted(speed for speed in scenario.speeds if speed > 0.0))
    answers = np.zeros((len(speeds), 5))
    start = np.zeros(5)
    width = unit.paddle.width
    wanted = START_FRACTION * width if scenario.onset else 0.0
    top = top_speed(scenario.max_speed, scenario.speeds)
    direction = np.asarray(scenario.stream_direction, dtype=float)
    first = screen(rods, stuff, speeds, direction, scenario.shear, wanted, top, answers, start)
    if first < 0.0:
        outcome.lack("start_speed", "m/s", BASIS, LOST)
        answers[:, FOUND] = 0.0
    elif scenario.onset:
        _start(outcome, start, wanted, top)
    for speed, row in zip(speeds, answers, strict=True):
        _at_speed(outcome, float(speed), row, width)
    return outcome


def _start(outcome: Outcome, start: np.ndarray, wanted: float, top: float) -> None:
    speed, frequency, last, flutters, found = (float(x) for x in start)
    if speed > 0.0:
        outcome.add("start_speed", speed, "m/s", BASIS)
        outcome.add("start_frequency", frequency, "Hz", BASIS)
        return
    if flutters or not found:
        reason = f"up to {last:.3g} m/s the stroke stays small; {UNSURE if flutters else LOST}"
    else:
        reason = f"stroke stays below {1e3 * wanted:.2g} mm at every speed up to {top:.3g} m/s"
    outcome.lack("start_speed", "m/s", BASIS, reason)
    outcome.lack("start_frequency", "Hz", BASIS, reason)


def _at_speed(outcome: Outcome, speed: float, row: np.ndarray, width: float) -> None:
    reason = "" if row[FOUND] else LOST
    if row[FLUTTERS]:
        reason = UNSURE
    fold = float(row[FOLD])
    if row[FOUND] and fold <= TUMBLE:
        outcome.add("fold_back", math.degrees(fold), "deg", BASIS, speed=speed)
    else:
        outcome.lack("fold_back", "deg", BASIS, reason or "folds past 108 deg", speed=speed)
    if reason:
        outcome.lack("flap_frequency", "Hz", BASIS, reason, speed=speed)
        outcome.lack("stroke", "m", BASIS, reason, speed=speed)
        outcome.lack("verdict", "", BASIS, reason, speed=speed)
        return
    frequency, stroke = float(row[FREQUENCY]), float(row[STROKE])
    if frequency > 0.0:
        outcome.add("flap_frequency", frequency, "Hz", BASIS, speed=speed)
    else:
        outcome.lack("flap_frequency", "Hz", BASIS, "the part does not beat", speed=speed)
    outcome.add("stroke", stroke, "m", BASIS, speed=speed)
    share = stroke / width
    word = "kicks" if share >= START_FRACTION else "shivers"
    word = word if share >= SHIVER_FRACTION else "still"
    outcome.add("verdict", word if fold <= TUMBLE else "tumbles / curls up", "", BASIS, speed=speed)
