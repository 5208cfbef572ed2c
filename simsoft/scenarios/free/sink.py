"""Scenario 'sink': the fall of the whole lure, told in records."""

from __future__ import annotations

import math

import numpy as np

from simsoft.bodies.free.equilibrium import trims
from simsoft.case.model import LineInput, Scenario
from simsoft.hydrodynamics.correlations.falling_plates import disc_inertia, disc_regime
from simsoft.lure.assembly import Whole
from simsoft.lure.free_lure import FreeLure, Values, build_free, free_values
from simsoft.results.outcome import Outcome
from simsoft.scenarios.free.clearance import add_free_clearance
from simsoft.scenarios.free.fall import LONGEST, Fall, fall
from simsoft.scenarios.free.ride import FreeDetail, Outcomes, kept_motion, part_answers
from simsoft.scenarios.free.salt import warn_of_salt

MODEL = (
    "march of the free lure, cross-flow drag by stations, added mass; quasi-steady, screening: "
    "30 % in sink rate"
)
TURNS = (
    "the lure turns as it falls, either way round as likely: nothing levels a body that leans or "
    "glides; weight well below the middle steadies it; whether it turns hangs on the moment of the "
    "water on the body: believe the sink rate, not how fast it turns"
)
ROLLS = (
    "resolved falls of weighted sticks rolled 1 to 340 deg (validation/RESOLVED.md): little stops "
    "round bodies, screening"
)
MAY_DIVE, NOT_YET = math.radians(5.0), math.radians(30.0)  # path off the vertical; nose
DIVES = (
    "this fall may turn into a dive: three of six stiff bodies that glide like this by this model "
    "dived in a resolved flow, nose down by 36 to 59 deg and 1.6 to 2.4 times as fast (computed "
    "here, validation/RESOLVED.md)"
)
STEADY = "steady descent of the lure frozen in the shape of its fall"
DEPTHS = (0.25, 0.5, 1.0, 2.0, 3.0, 5.0)  # [m], rows of the depth table that were reached
FLAT = 2.0  # side lying over side standing, past which a fall is that of a plate


def sink(whole: Whole, values: Values | None, scenario: Scenario, detail: FreeDetail) -> Outcomes:
    """Return the answers of a fall, by part; the whole lure's own under ''.

    Parameters
    ----------
    whole : Whole, with a body or a rig
    values : dict or None, input values of the pieces
    scenario : Scenario
    detail : FreeDetail

    Raises
    ------
    SolveError
        If the march diverges.
    """
    given = free_values(whole) if values is None else values
    longest = scenario.duration if detail.longest is None else detail.longest

    def drop(lure: FreeLure) -> Fall:
        return fall(
            lure,
            tilt=scenario.tilt,
            line=scenario.line,
            depth=scenario.depth,
            step=detail.size(),
            longest=LONGEST if longest is None else longest,
            water_density=whole.water.density,
        )

    def build(values: Values) -> FreeLure:
        return build_free(whole, values, elements=detail.elements)

    lure = build(given)
    found = drop(lure)
    own = _whole_answers(whole, lure, found, scenario.line)
    if detail.extras:
        _trim_answers(own, lure, found)
        warn_of_salt(own, given, found, lambda changed: drop(build(changed)))
        own.motions.append(kept_motion(whole, lure, found, scenario.name, "fall", found.window))
    outcomes = {"": own}
    window, everywhere = slice(*found.window), np.arange(len(found.time))
    for name in lure.names:
        own = outcomes[name] = part_answers(lure, found, name, window, during="fall")
        add_free_clearance(
            own, whole, given, lure, found, name, everywhere, scenario.name, state="fall"
        )
    return outcomes


def _whole_answers(whole: Whole, lure: FreeLure, found: Fall, line: LineInput) -> Outcome:
    """Return sink rate, attitude, how it falls, when it is steady, and the depth table."""
    own = Outcome()
    own.add("sink_rate", found.sink_rate, "m/s", f"{MODEL}; {_drawn(line)}")
    own.add("attitude", math.degrees(found.final_attitude), "deg", f"{MODEL}; nose down positive")
    own.add("glide_angle", math.degrees(found.glide), "deg", f"path off the vertical; {MODEL}")
    own.add("fall", found.kind, "", f"{MODEL}; {_ending(found)}")
    own.add("roll", math.degrees(found.lean), "deg", f"largest lean on the way down; {ROLLS}")
    own.add("wobble", math.degrees(found.swing), "deg", f"swing of the nose, peak to peak; {MODEL}")
    own.add("turn_rate", math.degrees(found.turn_rate), "deg/s", f"about the vertical; {MODEL}")
    if abs(found.sink_rate) > 1.0e-3:
        own.add("count_down", 1.0 / abs(found.sink_rate), "s/m", "one over the sink rate")
    basis = "of the centre of mass, added mass of the moulded lure; downward"
    own.add("release_acceleration", found.release, "m/s^2", basis)
    depth = None if found.settled_depth is None else abs(found.settled_depth)
    for quantity, value, unit in (
        ("settling_time", found.settled_time, "s"),
        ("settling_depth", depth, "m"),
    ):
        basis = "until the speed stays within 5 % of the final one"
        if value is None:
            own.lack(quantity, unit, basis, _ending(found))
        else:
            own.add(quantity, value, unit, basis)
    _depth_table(own, found)
    _regime(own, whole, found)
    own.add(
        "energy_residual", found.energy["residual"], "", "books of the march, of the largest entry"
    )
    own.add(
        "momentum_residual", found.momentum_residual, "", "momentum less impulse, of the larger"
    )
    if found.kind in ("spirals", "spins"):
        own.warnings.append(TURNS)
    dives = found.glide > MAY_DIVE and abs(found.final_attitude) < NOT_YET
    if whole.body is not None and dives and found.sink_rate > 0.0:
        own.warnings.append(DIVES)
    if not found.settled:
        why = f"the fall had not settled after {found.time[-1]:.1f} s"
        own.warnings.append(
            f"{why}: sink rate and attitude are means over its last part; give a longer duration"
        )
        for quantity in ("sink_rate", "attitude", "fall"):
            own.distrust(quantity, why)
    return own


def _drawn(line: LineInput) -> str:
    """Return what the line of a fall does to the sink rate."""
    if line.diameter * line.length <= 0.0:
        return "no line"
    return f"{line.length:.3g} m of {1.0e3 * line.diameter:.2g} mm line drawn along"


def _ending(found: Fall) -> str:
    if found.settled:
        return f"settled within {found.time[-1]:.2g} s"
    return f"not settled after {found.time[-1]:.3g} s"


def _depth_table(own: Outcome, found: Fall) -> None:
    """Add the time to each depth, past the end of the march at its last speed."""
    depth = np.abs(np.concatenate([[0.0], found.centre[:, 2] - found.released]))
    clock = np.concatenate([[0.0], found.time])
    for wanted in DEPTHS:
        beyond = np.flatnonzero(depth >= wanted)
        if beyond.size:
            around = slice(beyond[0] - 1, beyond[0] + 1)
            time = float(np.interp(wanted, depth[around], clock[around]))
        elif abs(found.sink_rate) > 1.0e-3:
            time = float(found.time[-1] + (wanted - depth[-1]) / abs(found.sink_rate))
        else:
            continue
        own.add("time_to_depth", time, "s", f"from release; {MODEL}", depth=wanted)


def _regime(own: Outcome, whole: Whole, found: Fall) -> None:
    """Say what the quasi-steady march cannot know: what a flat body's vortices do to its fall."""
    body = whole.body
    if body is None or whole.water.viscosity <= 0.0 or found.kind == "stays":
        return
    height, width = max(body.height.values), max(body.width.values)
    thin, broad = min(height, width), max(height, width)
    reynolds = whole.water.density * abs(found.sink_rate) * broad / whole.water.viscosity
    density = float(whole.body_inputs["density"].value)
    inertia = disc_inertia(density, whole.water.density, thin, broad)
    level = abs(found.final_attitude) < math.radians(45.0)
    basis = (
        f"map of falling discs, Re {reynolds:.0f}, I* {inertia:.3g} "
        "(Field et al. 1997; a factor 2 in I*), screening"
    )
    if not level:
        own.add("fall_regime", "end on", "", "not broadside: no map of falling plates applies")
    elif broad < FLAT * thin:
        word = "steady" if reynolds < 100.0 else "round body broadside, may shimmy"
        own.add("fall_regime", word, "", f"wake of a bar at Re {reynolds:.0f}, screening")
    else:
        word = disc_regime(reynolds, inertia)
        own.add("fall_regime", word, "", basis)
        if word != "steady":
            own.warnings.append(
                f"a flat body at this size and speed {word} as it falls ({basis}); the march is "
                "quasi-steady and does not show it: believe the class, not the steadiness"
            )
            own.distrust("fall", f"a flat body at this size and speed {word}, screening")


def _trim_answers(own: Outcome, lure: FreeLure, found: Fall) -> None:
    """Add all steady descents of the lure in the shape of its fall."""
    for number, trim in enumerate(trims(lure, found.shape, found.plates), start=1):
        word = "stable" if trim.stable else "unstable"
        own.add("trim_stability", word, "", STEADY, trim=number)
        own.add("trim_sink_rate", trim.sink_rate, "m/s", STEADY, trim=number)
        own.add("trim_attitude", math.degrees(trim.attitude), "deg", STEADY, trim=number)
