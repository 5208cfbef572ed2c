"""Every free coefficient of the fluid model: default, band and where it comes from.

This is the one place to look them up and to change them. A case overrides any of them in
``[parts.loads]``. Bands hold about two times in three; 'screening' marks values that stand on
judgement until a film of a real tail has set them.
"""

from __future__ import annotations

import math

from simsoft.case.model import BodyInput, CastInput, LoadsInput, Part
from simsoft.core.band import Band, exact

NORMAL_DRAG_STRIP = Band(
    1.95, 1.5, 2.1, "C_d of a long flat strip, Luhar & Nepf 2011; low end: plates of span 20 b"
)
NORMAL_DRAG_ROUND = Band(1.1, 0.9, 1.3, "C_d of a round bar, Re 1e2-1e5, White (from memory)")
SKIN_FRICTION = Band(0.010, 0.005, 0.020, "laminar plate 1.33/sqrt(Re) at Re 5e3-6e4 (from memory)")
RESOLVED = "computed here by two resolved-flow studies (lattice Boltzmann), screening"
PADDLE_NORMAL_FORCE = Band(1.06, 1.0, 1.2, f"C_N of a disc square on, {RESOLVED}")
PLATE_CENTRE_OF_PRESSURE = Band(1.2, 1.1, 1.3, f"held discs, {RESOLVED}")
CENTRE_OF_PRESSURE = Band(1.12, 0.95, 1.27, f"over Rayleigh's free-streamline form, {RESOLVED}")
ROTARY_DAMPING = Band(0.6, 0.4, 0.9, f"share of the strip-theory value, {RESOLVED}")
# Set together by baits and tails that beat, forced and held discs (validation/resolved/fit.py).
# The ends hold what discs alone and baits alone ask for (coefficients.csv there); how far beyond
# they reach is a judgement.
RIM_FORCE = Band(4.4, 3.5, 5.3, f"times (h/D)^0.7, {RESOLVED}")
RIM_RATE = Band(0.167, 0.158, 0.178, f"of the wake that discs drag along, {RESOLVED}")
RIM_DAMPING = Band(0.37, 0.27, 0.5, f"of the wake that discs drag along, {RESOLVED}")
RIM_INERTIA = Band(0.46, 0.24, 0.8, f"water carried along the plate in a stream, {RESOLVED}")
FORCE_GROWTH = Band(0.47, 0.3, 0.87, f"of the normal force with the wake, {RESOLVED}")
STROUHAL = Band(0.135, 0.12, 0.16, "disc on its diameter, Berger et al. 1990; plates 0.14-0.15")
WAKE_GROWTH = Band(0.3, 0.1, 0.6, "cylinder value, Facchinetti et al. 2004, screening")
WAKE_MOMENT = Band(0.0, 0.0, 0.01, f"a held disc feels next to none, {RESOLVED}")
STALL_ANGLE = Band(
    math.radians(35.0),
    math.radians(25.0),
    math.radians(50.0),
    "stall of plates about as wide as long, Hoerner & Borst 1975 (from memory), screening",
)
PLATE_DRAG_SPREAD = (0.90, 1.25)  # tables of square-on plates disagree by 15 % (check G07)
MUNK = Band(0.06, 0.0, 0.2, f"share of the edge suction of potential flow, {RESOLVED}")

# In the air, where a lure is cast.
AIR_END_ON = Band(
    0.30, 0.20, 0.45, "C_d of a rounded slender body on its largest section, Hoerner (from memory)"
)
AIR_FRICTION = Band(0.006, 0.004, 0.012, "C_f on the wetted body at Re 1e5, ribs rough (memory)")
AIR_BROADSIDE = Band(1.0, 0.85, 1.2, "share of the section drag tables, White (from memory)")
AIR_TRAILING = Band(
    0.10, 0.05, 0.15, "C_d of a limp strip on both faces, flag-like (from memory), screening"
)
AIR_TUMBLING = Band(
    2.0 / 3.0, 0.5, 0.8, "share of broadside in the mean over a tumble; 3 pi/16 to pi/4, screening"
)
AIR_CENTRE = Band(
    0.0, -0.03, 0.03, "shift of the drag's centre over the length, judgement, screening"
)
AIR_END_SHARE = Band(
    0.4, 0.3, 0.5, "mass in a weight at the end that flies first (common practice, no source)"
)
# How a bait is thrown: common practice, no source.
LAUNCH_SPEED = Band(28.0, 25.0, 31.0, "a typical throw (common practice, no source)")
LAUNCH_SPEED_SCATTER = 0.1  # relative, of a stated launch speed, throw to throw
LAUNCH_ANGLE = math.radians(40.0)
LAUNCH_ANGLE_SCATTER = math.radians(5.0)
RELEASE_HEIGHT = 2.0  # [m]
RIGGING_SCATTER = 1.0e-3  # [m] a bait is rigged a little off by hand (common practice, no source)
LINE_DRAG = Band(
    2.0e-5, 1.0e-5, 3.0e-5, "pull of the line over squared speed (from memory), screening"
)


def _take(given: float | None, default: Band) -> Band:
    return default if given is None else exact(given)


def coefficients(part: Part) -> dict[str, Band]:
    """Return the coefficients of one part, the case's values in place of the defaults.

    Keys are the names of ``LoadsInput``; a value given by the case has no band of its own.
    """
    loads: LoadsInput = part.loads
    round_section = part.section == "ellipse"
    result = {
        "normal_drag": _take(
            loads.normal_drag, NORMAL_DRAG_ROUND if round_section else NORMAL_DRAG_STRIP
        ),
        "skin_friction": _take(loads.skin_friction, SKIN_FRICTION),
    }
    if part.paddle is not None:
        result |= {
            "paddle_normal_force": _take(loads.paddle_normal_force, PADDLE_NORMAL_FORCE),
            "centre_of_pressure": _take(loads.centre_of_pressure, CENTRE_OF_PRESSURE),
            "rotary_damping": _take(loads.rotary_damping, ROTARY_DAMPING),
            "munk": _take(loads.munk, MUNK),
            "rim_force": _take(loads.rim_force, RIM_FORCE),
            "rim_rate": _take(loads.rim_rate, RIM_RATE),
            "rim_damping": _take(loads.rim_damping, RIM_DAMPING),
            "rim_inertia": _take(loads.rim_inertia, RIM_INERTIA),
            "force_growth": _take(loads.force_growth, FORCE_GROWTH),
        }
    return result


def plate_coefficients(part: Part, square_on: float) -> dict[str, Band]:
    """Return the coefficients of a part that bends as a plate.

    ``square_on`` [-] is the drag coefficient of its planform square to the stream. A plate sheds
    a wake only where the case states its moment: held discs feel next to none.
    """
    low, high = PLATE_DRAG_SPREAD
    drag = Band(
        square_on, low * square_on, high * square_on, "C_d of a plate square on, Hoerner 1965"
    )
    loads = part.loads
    result = {
        "normal_drag": _take(loads.normal_drag, drag),
        "skin_friction": _take(loads.skin_friction, SKIN_FRICTION),
        "stall_angle": _take(loads.stall_angle, STALL_ANGLE),
    }
    sheds = loads.shedding is not False and bool(loads.wake_moment)
    return result | _wake_coefficients(loads) if sheds else result


def _wake_coefficients(loads: LoadsInput) -> dict[str, Band]:
    """Return what the shed wake of a plate whose wake moment is stated hangs on."""
    return {
        "centre_of_pressure": _take(loads.centre_of_pressure, PLATE_CENTRE_OF_PRESSURE),
        "strouhal": _take(loads.strouhal, STROUHAL),
        "wake_growth": _take(loads.wake_growth, WAKE_GROWTH),
        "wake_moment": _take(loads.wake_moment, WAKE_MOMENT),
    }


def air_coefficients(body: BodyInput | None) -> dict[str, Band]:
    """Return the coefficients of a lure in the air, the body's stated ones in place of defaults."""
    end_on = None if body is None else body.axial_drag
    friction = None if body is None else body.skin_friction
    return {
        "air_end_on": _take(end_on, AIR_END_ON),
        "air_friction": _take(friction, AIR_FRICTION),
        "air_broadside": AIR_BROADSIDE,
        "air_trailing": AIR_TRAILING,
        "air_tumbling": AIR_TUMBLING,
        "air_centre": AIR_CENTRE,
        "air_end_share": AIR_END_SHARE,
    }


def throw_inputs(cast: CastInput) -> dict[str, Band]:
    """Return launch speed [m/s], launch angle [rad] and line drag [N s^2/m^2] with their bands."""
    speed, angle = cast.launch_speed, cast.launch_angle
    aimed = LAUNCH_ANGLE if angle is None else angle
    return {
        "launch_speed": LAUNCH_SPEED
        if speed is None
        else Band(
            speed,
            speed * (1.0 - LAUNCH_SPEED_SCATTER),
            speed * (1.0 + LAUNCH_SPEED_SCATTER),
            "as stated, throw to throw (common practice, no source)",
        ),
        "launch_angle": Band(
            aimed,
            aimed - LAUNCH_ANGLE_SCATTER,
            aimed + LAUNCH_ANGLE_SCATTER,
            "throw to throw (common practice, no source)",
        ),
        "line_drag": _take(cast.line_drag, LINE_DRAG),
    }
