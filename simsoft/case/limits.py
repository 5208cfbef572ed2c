"""What a case file may say: the refused and the unusual range of every number, in one table.

``low`` and ``high`` are refused outside; they bound what the physics can mean at all, with room
for published experiments (metre-long plates, dimensionless studies). ``typical`` only warns:
the trade's ranges are common practice, no source; those of the load coefficients are their
documented bands. All numbers are in ``unit``, the unit a user would write.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Limit:
    """Allowed and typical range of one key.

    Attributes
    ----------
    unit : str, unit of the numbers below; empty for a bare number
    si : str, unit of the checked case; empty for a bare number
    low, high : float [unit], refused outside
    typical : tuple of float or None [unit], warns outside
    example : str, a value a user may write
    note : str, why nothing else is possible
    open_low : bool, ``low`` itself is refused
    fraction : bool, a share that may also be written in per cent
    off : bool, 0 switches something off and never warns
    mirror : bool, the sign only says left or right, ``typical`` holds for the size
    """

    unit: str
    si: str
    low: float
    high: float
    typical: tuple[float, float] | None = None
    example: str = ""
    note: str = ""
    open_low: bool = False
    fraction: bool = False
    off: bool = False
    mirror: bool = False


def _size(example: str, low: float = 1e-3) -> Limit:
    """Return the limits [mm] of a size; published plates are 10 m long."""
    return Limit("mm", "m", low, 1e6, None, example)


_POINTS = "Shore scales run from 0 to 100 and carry no information at their ends"

LIMITS: dict[str, Limit] = {
    "water.temperature": Limit("degC", "K", -2, 60, (0, 35), "20 degC", "liquid water"),
    "water.salinity": Limit(
        "g/kg", "dimensionless", 0, 120, (0, 40), "35 g/kg", "range of the sea water formulas"
    ),
    "water.density": Limit("kg/m^3", "kg/m^3", 1e-6, 1e5, (950, 1100), "998 kg/m^3"),
    "water.viscosity": Limit("mPa s", "Pa s", 1e-9, 1e6, (0.3, 3), "1.0 mPa s"),
    "material.durometer": Limit("", "", 1, 99, None, "50 OO", _POINTS),
    "material.youngs_modulus": Limit("kPa", "Pa", 1e-6, 1e9, (5, 3000), "120 kPa"),
    "material.poisson_ratio": Limit(
        "", "", -1, 0.5, (0.45, 0.5), "0.49", "stability of an elastic solid", open_low=True
    ),
    "material.density": Limit("kg/m^3", "kg/m^3", 1, 3e5, (880, 1300), "1020 kg/m^3"),
    "material.salt_fraction": Limit("", "", 0, 0.6, (0, 0.4), '0.1 or "10 %"', fraction=True),
    "material.loss_factor": Limit("", "", 0, 2, (0.08, 0.33), "0.16", off=True),
    "material.kelvin_voigt_time": Limit("ms", "s", 0, 1e4, (0, 30), "5 ms"),
    "material.static_factor": Limit("", "", 0.05, 5, (0.3, 1.2), "0.65"),
    "material.rate_exponent": Limit("", "", 0, 0.6, (0.05, 0.20), "0.10", off=True),
    "material.temperature_slope": Limit(
        "1/K", "1/K", -0.1, 0.3, (0.010, 0.040), "0.025 1/K", off=True
    ),
    "profile.thickness_bias": Limit("mm", "m", -5, 5, (-0.2, 0.6), "0.15 mm"),
    "profile.loss_slope": Limit("1/K", "1/K", -0.2, 0.2, (-0.03, 0.06), "0.01 1/K", off=True),
    "profile.frequency": Limit("Hz", "Hz", 0, 1000, (0, 30), "6.5 Hz"),
    "parts.length": _size("30 mm", 1e-2),
    "parts.width": _size("6 mm"),
    "parts.thickness": _size("1 mm"),
    "parts.diameter": _size("1.5 mm"),
    "parts.position": Limit("mm", "m", -1e6, 1e6, None, '["0 mm", "0 mm", "0 mm"]'),
    "parts.outline": Limit("mm", "m", -1e6, 1e6, None, '"3 mm"'),
    "parts.arc_angle": Limit("deg", "rad", -3600, 3600, (0, 330), "240 deg", mirror=True),
    "parts.set_angle": Limit("deg", "rad", -720, 720, (0, 180), "40 deg", mirror=True),
    "parts.set_fraction": Limit("", "", 0, 1, None, '0.1 or "10 %"', fraction=True),
    "parts.neck_length": _size("5 mm"),
    "parts.neck_width": _size("5 mm"),
    "parts.neck_thickness": _size("1.5 mm"),
    "parts.rim_width": _size("1.5 mm"),
    "parts.rim_height": _size("0.6 mm"),
    "parts.rib_width": _size("2 mm"),
    "parts.rib_height": _size("0.6 mm"),
    "parts.paddle_diameter": _size("15 mm"),
    "parts.paddle_width": _size("12 mm"),
    "parts.paddle_height": _size("15 mm"),
    "parts.paddle_thickness": _size("3 mm"),
    "parts.paddle_angle": Limit("deg", "rad", 0, 180, (70, 110), "90 deg"),
    "parts.paddle_offset": Limit("mm", "m", -1e6, 1e6, None, "3 mm"),
    "parts.body_height": _size("10 mm"),
    "parts.body_width": _size("7 mm"),
    "parts.fork_angle": Limit("deg", "rad", 0, 90, (10, 60), "30 deg", open_low=True),
    "parts.tip_mass": Limit("g", "kg", 0, 1e9, None, "2 g"),
    "parts.tip_force": Limit("N", "N", -1e9, 1e9, None, '["0 N", "0 N", "1 mN"]'),
    "parts.follower_force": Limit("N", "N", -1e9, 1e9, None, '["0 N", "0 N", "1 mN"]'),
    "parts.tip_moment": Limit("N m", "N m", -1e9, 1e9, None, '["0 N m", "1 mN m", "0 N m"]'),
    "parts.density": Limit("kg/m^3", "kg/m^3", 1, 3e5, (880, 1300), "930 kg/m^3"),
    "parts.line_weight": Limit("N/m", "N/m", -1e9, 1e9, None, "0.1 N/m"),
    "loads.normal_drag": Limit("", "", 0, 10, (0.8, 2.5), "1.95", off=True),
    "loads.skin_friction": Limit("", "", 0, 1, (0, 0.05), "0.01"),
    "loads.paddle_normal_force": Limit("", "", 0, 5, (1.0, 1.3), "1.09", off=True),
    "loads.centre_of_pressure": Limit("", "", 0, 3, (0.5, 1.5), "1.08", off=True),
    "loads.rotary_damping": Limit("", "", 0, 10, (0, 1), "0.8"),
    "loads.strouhal": Limit("", "", 0, 1, (0.12, 0.16), "0.135", open_low=True),
    "loads.wake_growth": Limit("", "", 0, 5, (0.1, 0.6), "0.3", off=True),
    "loads.wake_moment": Limit("", "", 0, 2, (0, 0.01), "0.005", off=True),
    "loads.munk": Limit("", "", 0, 2, (0, 1), "0.1"),
    "loads.rim_force": Limit("", "", 0, 10, (3.5, 5.3), "4.5", off=True),
    "loads.rim_rate": Limit("", "", 0, 1, (0.158, 0.178), "0.168", open_low=True),
    "loads.rim_damping": Limit("", "", 0, 2, (0.3, 0.5), "0.41", open_low=True),
    "loads.rim_inertia": Limit("", "", 0, 3, (0.38, 0.8), "0.53"),
    "loads.force_growth": Limit("", "", 0, 5, (0.35, 0.87), "0.58", off=True),
    "loads.stall_angle": Limit("deg", "rad", 0, 90, (20, 50), "35 deg", off=True),
    "body.length": _size("100 mm", 1e-2),
    "body.height": _size("12 mm"),
    "body.width": _size("12 mm"),
    "body.fullness": Limit("", "", 0.2, 1, (0.6, 1), "0.8", "a share of the section's box"),
    "body.rib_depth": Limit("mm", "m", 0, 1e6, (1, 4), "2 mm", off=True),
    "body.rib_pitch": Limit("mm", "m", 0, 1e6, (2, 6), "4 mm", off=True),
    "body.slot_width": Limit("mm", "m", 0, 1e6, (1.5, 3), "2 mm", off=True),
    "body.slot_height": Limit("mm", "m", 0, 1e6, None, "5 mm"),
    "body.slot_from": Limit("mm", "m", 0, 1e6, None, "15 mm"),
    "body.slot_to": Limit("mm", "m", 0, 1e6, None, "60 mm"),
    "body.density": Limit("kg/m^3", "kg/m^3", 1, 3e5, (880, 1300), "1020 kg/m^3"),
    "body.salt_fraction": Limit("", "", 0, 0.6, (0, 0.4), '0.1 or "10 %"', fraction=True),
    "body.microballoon_fraction": Limit("", "", 0, 0.3, (0, 0.03), '0.02 or "2 %"', fraction=True),
    "body.microballoon_density": Limit("kg/m^3", "kg/m^3", 10, 1500, (125, 350), "200 kg/m^3"),
    "body.air_fraction": Limit("", "", 0, 0.5, (0, 0.03), '0.01 or "1 %"', fraction=True),
    "body.stiff_from": Limit("mm", "m", 0, 1e6, None, "0 mm"),
    "body.stiff_to": Limit("mm", "m", 0, 1e6, None, "45 mm"),
    "body.cross_drag": Limit("", "", 0, 10, (0.4, 2.1), "1.1", off=True),
    "body.axial_drag": Limit("", "", 0, 10, (0.1, 1.2), "0.4", off=True),
    "body.drag_factor": Limit("", "", 0, 10, (0.5, 2), "1.1", open_low=True),
    "body.skin_friction": Limit("", "", 0, 1, (0, 0.05), "0.01"),
    "hook.wire_diameter": Limit("mm", "m", 1e-3, 1e3, (0.5, 2.0), "1.1 mm"),
    "hook.gap": Limit("mm", "m", 1e-3, 1e4, (5, 25), "12 mm"),
    "hook.shank": Limit("mm", "m", 1e-3, 1e4, (10, 75), "35 mm"),
    "hook.bend": Limit("mm", "m", 1e-3, 1e4, (2, 15), "6 mm"),
    "hook.point": Limit("mm", "m", 1e-3, 1e4, (4, 35), "14 mm"),
    "hook.offset": Limit("mm", "m", 0, 1e4, (2, 8), "4 mm", off=True),
    "hook.eye": Limit("mm", "m", -1e6, 1e6, None, '["0 mm", "0 mm", "0 mm"]'),
    "hook.path": Limit("mm", "m", -1e6, 1e6, None, '["0 mm", "0 mm", "0 mm"]'),
    "hook.mass": Limit("g", "kg", 1e-6, 1e6, (0.05, 3), "0.8 g"),
    "weights.mass": Limit("g", "kg", 1e-6, 1e9, (0.2, 60), "1/4 oz"),
    "weights.position": Limit("mm", "m", -1e6, 1e6, None, '["5 mm", "0 mm", "-3 mm"]'),
    "weights.density": Limit("kg/m^3", "kg/m^3", 1000, 3e4, (6000, 19500), "11000 kg/m^3"),
    "scenarios.speed": Limit("m/s", "m/s", 0, 1000, (0, 3), "0.3 m/s"),
    "scenarios.max_speed": Limit("m/s", "m/s", 0, 1000, (0, 3), "1.5 m/s", open_low=True),
    "scenarios.duration": Limit("s", "s", 1e-3, 1e6, (0.5, 120), "10 s"),
    "scenarios.shear": Limit("1/s", "1/s", -1e4, 1e4, (0, 5), "0.5 1/s", mirror=True),
    "scenarios.modes": Limit("", "", 1, 50, (1, 12), "3"),
    "scenarios.depth": Limit("m", "m", 1e-3, 1e4, (0.2, 30), "2 m"),
    "scenarios.tilt": Limit("deg", "rad", -180, 180, None, "30 deg", mirror=True),
    "scenarios.wanted_sink_rate": Limit("m/s", "m/s", -3, 5, (-0.3, 1.5), "8 in/s"),
    "scenarios.wanted_attitude": Limit("deg", "rad", -90, 90, None, "0 deg"),
    "scenarios.amplitude": Limit("mm", "m", 1e-3, 1e5, (3, 1000), "0.3 m"),
    "scenarios.cadence": Limit("Hz", "Hz", 1e-3, 100, (0.1, 8), "0.5 Hz"),
    "scenarios.times": Limit("s", "s", 0, 1e4, None, '["0 s", "0.4 s"]'),
    "scenarios.positions": Limit("m", "m", -1e4, 1e4, None, '["0 m", "0.3 m"]'),
    "scenarios.launch_speed": Limit("m/s", "m/s", 0.1, 100, (15, 45), "28 m/s"),
    "scenarios.launch_angle": Limit("deg", "rad", -89, 89, (5, 55), "40 deg"),
    "scenarios.release_height": Limit("m", "m", 0.01, 1000, (0.5, 10), "2 m"),
    "scenarios.wind": Limit("m/s", "m/s", 0, 60, (0, 15), '["0 m/s", "5 m/s"]'),
    "scenarios.wind_from": Limit("deg", "rad", -360, 360, None, '["0 deg", "90 deg"]'),
    "scenarios.air_temperature": Limit("degC", "K", -60, 60, (-10, 40), "15 degC"),
    "scenarios.air_pressure": Limit("kPa", "Pa", 30, 110, (85, 105), "101.3 kPa"),
    "scenarios.line_drag": Limit(
        "N s^2/m^2", "N s^2/m^2", 0, 1, (1e-5, 3e-5), "2e-5 N s^2/m^2", off=True
    ),
    "line.tension": Limit("mN", "N", 0, 1e6, (0, 500), "10 mN"),
    "line.length": Limit("m", "m", 1e-2, 1e4, (1, 60), "10 m"),
    "line.diameter": Limit("mm", "m", 0, 10, (0.1, 0.6), "0.25 mm", off=True),
    "numerics.elements": Limit("", "", 2, 400, (8, 100), "24"),
    "numerics.step": Limit("ms", "s", 1e-4, 1e3, (0.05, 10), "1 ms"),
    "tolerance.hardness": Limit("", "", 0, 30, (0, 8), "3"),
    "tolerance.thickness": Limit("mm", "m", 0, 1e3, (0, 0.4), "0.08 mm"),
    "tolerance.modulus": Limit("", "", 0, 2, (0, 0.5), '0.1 or "10 %"', fraction=True),
    "tolerance.density": Limit("kg/m^3", "kg/m^3", 0, 1e5, (0, 60), "15 kg/m^3"),
    "tolerance.temperature": Limit("K", "K", 0, 30, (0, 5), "1 K"),
    "tolerance.speed": Limit("", "", 0, 0.5, (0, 0.2), '0.05 or "5 %"', fraction=True),
    "tolerance.set_angle": Limit("deg", "rad", 0, 180, (0, 30), "5 deg"),
    "brief.within": Limit("", "", 1e-3, 1, (0.03, 0.3), '0.1 or "10 %"', fraction=True),
    "seen.speed": Limit("m/s", "m/s", 0, 1000, (0, 3), "0.3 m/s"),
    "brief.speed": Limit("m/s", "m/s", 0, 1000, (0, 3), "0.3 m/s"),
    "shop.mould_bias": Limit("mm", "m", -1e3, 1e3, (-0.05, 0.4), "0.15 mm"),
    "shop.bias_scatter": Limit("mm", "m", 0, 1e3, (0, 0.2), "0.08 mm"),
    "shop.shrinkage": Limit("", "", -0.1, 0.2, (0.005, 0.025), '0.015 or "1.5 %"', fraction=True),
    "shop.shrinkage_scatter": Limit("", "", 0, 0.1, (0, 0.01), '0.005 or "0.5 %"', fraction=True),
    "shop.cavities": Limit("", "", 1, 500, (1, 12), "4"),
    "shop.runner_share": Limit("", "", 0, 5, (0.15, 0.35), '0.25 or "25 %"', fraction=True),
    "shop.loop_material": Limit("", "", 0, 1e9, None, "1.5"),
    "shop.loop_hours": Limit("", "", 0, 1e5, None, "6"),
    "shop.metal_material": Limit("", "", 0, 1e9, None, "2.5"),
    "shop.metal_hours": Limit("", "", 0, 1e5, None, "25"),
    "shop.hour_value": Limit("", "", 0, 1e9, None, "1"),
}

# Shore points that the trade pours, by scale; A readings below 10 are better taken on OO
# (guidance in ASTM D2240, from memory).
TYPICAL_HARDNESS = {"OO": (25.0, 80.0), "A": (10.0, 35.0)}

# Trade sizes by kind of part, in the unit of LIMITS: common practice, no source.
TYPICAL_BY_KIND: dict[tuple[str, str], tuple[float, float]] = {
    ("strip", "length"): (10, 200),
    ("strip", "width"): (3, 40),
    ("strip", "thickness"): (0.5, 10),
    ("ribbon", "length"): (25, 200),
    ("ribbon", "width"): (3, 18),
    ("ribbon", "thickness"): (0.6, 1.3),
    ("curl-tail", "length"): (25, 110),
    ("curl-tail", "width"): (5, 18),
    ("curl-tail", "thickness"): (0.4, 2.2),
    ("curl-tail", "arc_angle"): (150, 330),
    ("paddle-tail", "length"): (6, 20),
    ("paddle-tail", "width"): (2, 12),
    ("paddle-tail", "thickness"): (1.8, 6),
    ("paddle-tail", "paddle_diameter"): (8, 30),
    ("paddle-tail", "paddle_width"): (6, 30),
    ("paddle-tail", "paddle_height"): (8, 30),
    ("paddle-tail", "paddle_thickness"): (1.8, 6),
    ("fork-tail", "length"): (15, 45),
    ("fork-tail", "width"): (3, 15),
    ("fork-tail", "thickness"): (0.7, 3),
    ("claw", "length"): (15, 60),
    ("claw", "width"): (6, 25),
    ("claw", "thickness"): (0.8, 2.5),
    ("claw", "neck_width"): (3, 8),
    ("claw", "neck_thickness"): (1.0, 2.2),
    ("leg", "length"): (8, 35),
    ("leg", "diameter"): (0.8, 2.5),
    ("worm", "length"): (50, 200),
    ("worm", "height"): (2.5, 10),
    ("worm", "width"): (2.5, 10),
    ("stick-worm", "length"): (50, 200),
    ("stick-worm", "height"): (4, 14),
    ("stick-worm", "width"): (4, 14),
    ("swim-bait", "length"): (25, 250),
    ("swim-bait", "height"): (5, 50),
    ("swim-bait", "width"): (3, 40),
    ("grub", "length"): (15, 80),
    ("grub", "height"): (3, 16),
    ("grub", "width"): (3, 16),
    ("creature", "length"): (25, 130),
    ("creature", "height"): (5, 20),
    ("creature", "width"): (5, 25),
    ("flat-sided", "length"): (25, 150),
    ("flat-sided", "height"): (8, 60),
    ("flat-sided", "width"): (2, 16),
}


def number_text(value: float) -> str:
    """Return a number as a person would write it: no trailing zeros, ``1e6`` for a million."""
    text = f"{value:.6g}" if abs(value) < 1e6 else f"{value:.3g}"
    mantissa, _, exponent = text.partition("e")
    return f"{mantissa}e{int(exponent)}" if exponent else text


def range_text(limit: Limit, low: float, high: float) -> str:
    """Return ``"<low> to <high> <unit>"`` for messages."""
    unit = f" {limit.unit}" if limit.unit else ""
    return f"{number_text(low)} to {number_text(high)}{unit}"


def outside(value: float, limit: Limit) -> str | None:
    """Return the complaint for ``value`` [limit.unit], or None where it is allowed.

    The complaint reads after the given text: "is ...; ... is allowed".
    """
    above = value > limit.low if limit.open_low else value >= limit.low
    if above and value <= limit.high:
        return None
    allowed = range_text(limit, limit.low, limit.high)
    why = f" ({limit.note})" if limit.note else ""
    if limit.open_low:
        unit = f" {limit.unit}" if limit.unit else ""
        allowed = f"above {number_text(limit.low)} up to {number_text(limit.high)}{unit}"
    lowest_positive = limit.low > 0 or (limit.open_low and limit.low == 0)
    if value <= 0 and lowest_positive:
        return f"is zero or negative; {allowed} is allowed"
    if value < 0 and limit.low == 0:
        return f"is negative; {allowed} is allowed"
    return f"is outside what is possible; {allowed} is allowed{why}"
