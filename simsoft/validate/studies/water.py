"""Study: the demo paddle tail in cold and warm water."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from simsoft.lure.parts import DEFAULT_FREQUENCY, assemble, strip_modulus, values_of
from simsoft.properties.material import DEFAULTS
from simsoft.properties.water import resolve_water
from simsoft.validate.studies.tools import demo, solve_cases, table, table_number

CELSIUS = 273.15
TEMPERATURES = (5.0, 22.0)  # [degC]
FAR_BEYOND = 3.0  # times the start, from where strokes level off


@dataclass(frozen=True)
class Day:
    """The tail at one water temperature.

    Attributes
    ----------
    temperature : float [degC]
    viscosity : float [Pa s]
    resting, dynamic : float [Pa], modulus at the durometer's dwell and at 5 Hz
    natural : float or None [Hz], first frequency in water
    start : float or None [m/s]
    points : tuple of (speed [m/s], verdict, frequency [Hz], stroke [m])
    """

    temperature: float
    viscosity: float
    resting: float
    dynamic: float
    natural: float | None
    start: float | None
    points: tuple[tuple[float, str, float | None, float | None], ...]


def study() -> list[Day]:
    """Run the demo paddle tail at both temperatures, its durometer kept."""
    plain = demo("paddle_100")
    cases = [
        replace(plain, water=replace(plain.water, temperature=CELSIUS + t)) for t in TEMPERATURES
    ]
    days = []
    for temperature, case, solved in zip(TEMPERATURES, cases, solve_cases(cases), strict=True):
        strip = assemble(case).strips[0]
        values = values_of(strip)
        speeds = next(s.speeds for s in case.scenarios if s.kind == "retrieve")
        points = tuple(
            (
                speed,
                solved.word("verdict", speed=speed),
                solved.number("flap_frequency", speed=speed),
                solved.number("stroke", speed=speed),
            )
            for speed in speeds
        )
        days.append(
            Day(
                temperature,
                resolve_water(case.water).viscosity,
                values["modulus"],
                strip_modulus(strip, values, DEFAULT_FREQUENCY),
                solved.number("natural_frequency", mode=1, medium="water"),
                solved.number("start_speed"),
                points,
            )
        )
    return days


def section(days: Sequence[Day]) -> str:
    """Return the study as Markdown."""
    cold, warm = days
    head = ["", *(f"{day.temperature:g} degC" for day in days)]
    rows = [
        ["resting modulus [kPa]", *(table_number(1e-3 * d.resting) for d in days)],
        ["modulus at 5 Hz [kPa]", *(table_number(1e-3 * d.dynamic) for d in days)],
        ["viscosity of water [mPa s]", *(table_number(1e3 * d.viscosity) for d in days)],
        ["first frequency in water [Hz]", *(table_number(d.natural) for d in days)],
        ["start speed [m/s]", *(table_number(d.start, 3) for d in days)],
    ]
    for i, (speed, *_) in enumerate(cold.points):
        cells = [
            f"{d.points[i][1]}, {table_number(d.points[i][2], 3)} Hz, "
            f"{table_number(1e3 * (d.points[i][3] or 0.0), 2)} mm"
            for d in days
        ]
        rows.append([f"at {speed:g} m/s", *cells])
    return f"## Cold water: paddle_100\n\n{_claim(cold, warm)}\n\n{table(head, rows)}\n"


def _claim(cold: Day, warm: Day) -> str:
    if cold.start is None or warm.start is None or cold.natural is None or warm.natural is None:
        return "The tail does not start at one of the temperatures."
    stiffer = cold.resting / warm.resting
    changed = [
        f"at {a[0]:g} m/s it {a[1]} cold and {b[1]} warm"
        for a, b in zip(cold.points, warm.points, strict=True)
        if a[1] != b[1]
    ]
    verdicts = "; ".join(changed) or "the verdicts are the same at every speed"
    return (
        f"The same bait is {stiffer:.2f} times as stiff at {cold.temperature:g} degC as at "
        f"{warm.temperature:g} degC, rings {cold.natural / warm.natural:.2f} times as fast (the "
        f"root of the stiffness is {math.sqrt(stiffer):.2f}) and starts at "
        f"{cold.start / warm.start:.2f} times the speed; {verdicts}. The stiffening is screening "
        f"level: its slope of {DEFAULTS.temperature_slope:g} a degree is an estimate, from memory. "
        "Near its start the colder tail strokes less; beyond "
        f"{FAR_BEYOND:g} times its start both level off within a tenth. "
        "The viscosity of the water does not enter rate and stroke here."
    )
