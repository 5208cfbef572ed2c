"""One table of quantities: what a record, a clause of a brief or a measurement may be of.

What a quantity means, its unit, what a reader calls it, which question answers it, and what is
known of it wherever it is asked for. To add one: a row here, and ``outcome.add`` where it is found.
Text, page, files, brief and comparison take it from there.
"""

from __future__ import annotations

from dataclasses import dataclass

START, BEAT, REST, STILL = "start", "beat", "rest", "still"
FALL, LINE, CLEARANCE, CAST = "fall", "line", "clearance", "cast"
WEIGHED, RECIPE, ABOUT, MEASURED = "weighed", "recipe", "about", "measured"


@dataclass(frozen=True, slots=True)
class Topic:
    """One quantity.

    Attributes
    ----------
    name : str, in records and case files
    unit : str, SI, angles in degrees; '' of a word or a number without one
    question : str, what answers it: the start in a stream, the beat or the rest shape at a speed,
        still water, a fall, a line (hop, tow), hook and body, a cast, the scale, a recipe; 'about'
        of what tells about other numbers, 'measured' of what is only ever measured
    meaning : str, in a few words
    spoken : str, what a reader calls it, where that is not its name
    wished : bool, a brief may speak of it
    better : int, +1 where every maker means that more is better, -1 less, 0 neither
    share : bool, from 0 to 1, and 0 is the best of it
    by_eye : float or None, relative doubt of a look, one standard deviation (common practice, no
        source; of a verdict that of its speed); None of what cannot be seen
    close : (float, float) or None, relative error up to which a maker calls a prediction close,
        and usable (common practice)
    within : (float, float) or None [unit], what a measured value may be: above the first, at most
        the second
    decimals : int or None, that a number has however wide its band
    column : bool, a column of what a part does at a speed
    charted : bool, drawn against speed
    sinks : bool, a rate of fall, which the trade counts in inches a second; retrieves are told in
        feet a second
    """

    name: str
    unit: str
    question: str
    meaning: str
    spoken: str = ""
    wished: bool = False
    better: int = 0
    share: bool = False
    by_eye: float | None = None
    close: tuple[float, float] | None = None
    within: tuple[float, float] | None = None
    decimals: int | None = None
    column: bool = False
    charted: bool = False
    sinks: bool = False


# fmt: off
_ROWS = (
    # how a part starts
    Topic("start_speed", "m/s", START, "lowest speed of the stream at which the part beats",
          wished=True, better=-1, by_eye=0.15, close=(0.15, 0.30), within=(0.0, 20.0),
          decimals=2),
    Topic("start_frequency", "Hz", START, "rate of the beat at the start speed",
          "rate at the start", wished=True, close=(0.10, 0.20), within=(0.0, 200.0)),
    Topic("stability_limit", "m/s", START,
          "a speed at which small motions begin or cease to grow"),
    # what it does at a speed
    Topic("flap_frequency", "Hz", BEAT, "beats a second", "rate", wished=True, by_eye=0.10,
          close=(0.10, 0.20), within=(0.0, 200.0), column=True, charted=True),
    Topic("stroke", "m", BEAT, "path of the tip from side to side, of a paddle of its centre",
          wished=True, better=1, by_eye=0.20, close=(0.15, 0.30), within=(0.0, 2e3), column=True,
          charted=True),
    Topic("edge_to_edge", "m", BEAT,
          "width that the edges of a paddle sweep: stroke and width together", wished=True,
          column=True, charted=True),
    Topic("fold_back", "deg", BEAT,
          "angle between the moulded and the mean direction of the tip", "fold-back",
          wished=True, column=True, charted=True),
    Topic("curl_up", "deg", REST,
          "turning of the middle line from clamp to tip, of the rest shape", "curl-up",
          wished=True, column=True),
    Topic("tip_angle", "deg", REST,
          "angle of the tip to the direction at the clamp, of the rest shape", wished=True,
          column=True),
    Topic("rim_deflection", "m", REST,
          "farthest that a paddle gives way from the end of its stem", column=True),
    Topic("natural_frequency", "Hz", STILL,
          "rate at which the part rings in still water, or in air", wished=True,
          close=(0.10, 0.20), within=(0.0, 1e3)),
    Topic("damping_ratio", "", STILL, "damping of the first mode, 1 is critical", wished=True),
    Topic("drag", "N", BEAT, "mean force along the stream on the clamp", wished=True,
          column=True),
    Topic("side_force", "N", BEAT, "fluctuation of the force across the stream", wished=True,
          column=True),
    Topic("root_moment", "N m", BEAT, "largest moment on the clamp", wished=True, column=True),
    Topic("shedding_rate", "Hz", BEAT, "rate of the wake that a plate sheds and beats in"),
    Topic("stroke_from_above", "m", BEAT, "stroke of another motion, found from a large one"),
    Topic("flap_frequency_from_above", "Hz", BEAT,
          "rate of another motion, found from a large one"),
    Topic("tip_position", "m", BEAT,
          "place of the tip from the clamp, mean or of the rest shape"),
    # how a lure falls, hops and is towed
    Topic("sink_rate", "m/s", FALL, "speed of the fall, negative where it rises", wished=True,
          by_eye=0.10, close=(0.10, 0.20), within=(-20.0, 20.0), sinks=True),
    Topic("attitude", "deg", FALL, "pitch of the lure, nose down positive", wished=True,
          within=(-361.0, 360.0)),
    Topic("roll", "deg", FALL, "lean to a side: the largest of a fall, the mean of a tow"),
    Topic("glide_angle", "deg", FALL, "angle of the path off the vertical"),
    Topic("turn_rate", "deg/s", FALL, "turning about the vertical"),
    Topic("wobble", "deg", FALL, "swing of the nose"),
    Topic("fall", "", FALL, "how it falls, in a word"),
    Topic("fall_regime", "", FALL, "kind of motion that a plate of its shape has in a fall"),
    Topic("count_down", "s/m", FALL, "time to sink a metre"),
    Topic("time_to_depth", "s", FALL, "time to reach a depth"),
    Topic("settling_time", "s", FALL, "time until the fall keeps within 5 % of its final rate"),
    Topic("settling_depth", "m", FALL, "depth by which it does"),
    Topic("release_acceleration", "m/s^2", FALL, "acceleration of the fall when let go"),
    Topic("trim_sink_rate", "m/s", FALL, "fall of a steady descent of the frozen lure",
          sinks=True),
    Topic("trim_attitude", "deg", FALL, "pitch of a steady descent of the frozen lure"),
    Topic("trim_stability", "", FALL, "whether that descent is stable"),
    Topic("nose_motion", "m", LINE, "path of the eye over a cycle of a hop"),
    Topic("tail_motion", "m", LINE, "path of the tip over a cycle of a hop"),
    Topic("line_motion", "m", LINE, "path of the line's end over a cycle of a hop, as stated"),
    Topic("line_tension", "N", LINE, "pull of the line: the peak of a hop, the mean of a tow"),
    Topic("line_angle", "deg", LINE, "angle of the line above level"),
    Topic("keel", "m", LINE, "centre of mass below the centre of buoyancy"),
    Topic("recoil_ratio", "", LINE, "rate of a part on the free lure over its rate held"),
    Topic("sway", "m", LINE, "path of the centre of mass from side to side"),
    Topic("yaw_swing", "deg", LINE, "swing of the heading"),
    Topic("pitch_swing", "deg", LINE, "swing of the pitch"),
    Topic("roll_swing", "deg", LINE, "swing of the roll"),
    # the hook, the body
    Topic("hook_clearance", "m", CLEARANCE,
          "smallest gap between part and bare wire, negative inside", wished=True, better=1),
    Topic("hook_contact", "", CLEARANCE, "whether part and wire meet, in a word"),
    Topic("fouling_sides", "", CLEARANCE,
          "share of sides blown to on which a part meets the hook in a cast", wished=True,
          share=True),
    Topic("body_depth", "m", CLEARANCE, "how deep the shape of a part lies in the body"),
    # the cast
    Topic("cast_distance", "m", CAST, "reach of the throw", wished=True, better=1, by_eye=0.10,
          close=(0.15, 0.30), within=(0.0, 1e3)),
    Topic("cast_drift", "m", CAST, "how far the wind carries it aside"),
    Topic("flight_time", "s", CAST, "time in the air"),
    Topic("best_launch_angle", "deg", CAST, "launch angle of the longest throw"),
    Topic("flat_loss", "m", CAST, "reach lost by a flat throw"),
    Topic("flight_attitude", "", CAST, "how it flies: end on, broadside or tumbling"),
    Topic("other_attitude", "", CAST, "how else it may fly"),
    Topic("static_margin", "", CAST,
          "centre of mass ahead of that of broadside drag, over the length"),
    Topic("drag_area", "m^2", CAST, "drag in air over dynamic pressure"),
    Topic("ballistic_coefficient", "kg/m^2", CAST, "mass over drag area"),
    # what a lure weighs
    Topic("mass", "kg", WEIGHED, "mass, of the lure or a part", wished=True),
    Topic("volume", "m^3", WEIGHED, "volume, of the lure or a part", wished=True),
    Topic("net_weight", "N", WEIGHED, "weight less buoyancy, negative where it floats",
          wished=True),
    Topic("length", "m", WEIGHED, "length of the whole lure", wished=True),
    Topic("verdict", "", BEAT, "what the part does, in a word", wished=True, by_eye=0.10),
    Topic("centre_of_mass", "m", WEIGHED, "place of the centre of mass"),
    Topic("centre_of_buoyancy", "m", WEIGHED, "place of the centre of buoyancy"),
    Topic("inertia", "kg m^2", WEIGHED, "moments of inertia about the centre of mass"),
    Topic("added_mass", "kg", WEIGHED, "mass of water that goes along when it is pushed"),
    Topic("added_inertia", "kg m^2", WEIGHED,
          "inertia of water that goes along when it is turned"),
    Topic("added_coupling", "kg m", WEIGHED, "push of the water when the lure is turned"),
    Topic("projected_area", "m^2", WEIGHED, "area seen along each axis"),
    Topic("righting_moment", "N m", WEIGHED,
          "moment against a roll, a radian; above zero it rights itself"),
    # a fall that was wished for
    Topic("recipe", "", RECIPE, "setting of a lever that gives the wanted fall"),
    Topic("recipe_position", "m", RECIPE, "where the weight of a recipe goes"),
    Topic("recipe_sink_rate", "m/s", RECIPE, "fall with a recipe", sinks=True),
    Topic("recipe_attitude", "deg", RECIPE, "pitch with a recipe"),
    Topic("weigh_at_least", "kg", RECIPE, "lightest mass that falls as wanted"),
    Topic("weigh_at_most", "kg", RECIPE, "heaviest mass that falls as wanted"),
    # about numbers
    Topic("model", "", ABOUT, "whether the part is solved as a rod or as a plate"),
    Topic("doubt", "", ABOUT, "share of a band that one input makes"),
    Topic("discretisation_error", "", ABOUT,
          "what mesh and step leave open of a number, relative"),
    Topic("energy_residual", "", ABOUT, "work and energy that do not add up, relative"),
    Topic("momentum_residual", "", ABOUT, "momentum that does not add up, relative"),
    # measured only
    Topic("youngs_modulus", "Pa", MEASURED, "Young's modulus of a pour", "modulus",
          within=(0.0, 1e12)),
    Topic("loss_factor", "", MEASURED, "loss factor of a pour", within=(0.0, 10.0)),
    Topic("density", "kg/m^3", MEASURED, "density of a pour", within=(499.0, 3e3)),
    Topic("temperature_slope", "1/K", MEASURED, "change of the modulus with warmth"),
    Topic("loss_slope", "1/K", MEASURED, "change of the loss factor with warmth"),
    Topic("tow_speed", "m/s", MEASURED, "speed of a tow", within=(-20.0, 20.0)),
    Topic("left_right_bias", "", MEASURED, "how much wider a part beats to one side",
          "left-right bias"),
    Topic("left_right_offset", "m", MEASURED, "middle of the beat off the middle of the lure",
          "left-right offset"),
)
# fmt: on
QUANTITIES = {row.name: row for row in _ROWS}
COLUMNS = tuple(row.name for row in _ROWS if row.column)
CHARTED = tuple(row.name for row in _ROWS if row.charted)
LEVEL = 0.5  # [deg] of the nose, less is level


def answered_by(*questions: str) -> tuple[str, ...]:
    """Return the quantities that questions answer."""
    return tuple(row.name for row in _ROWS if row.question in questions)


def measured_span(quantity: str) -> tuple[float, float] | None:
    """Return what a measured value may be in SI: above the first, at most the second."""
    known = QUANTITIES.get(quantity)
    return known.within if known else None


def words(quantity: str) -> str:
    """Return the name of a quantity as a reader says it.

    Parameters
    ----------
    quantity : str, as in records and case keys
    """
    known = QUANTITIES.get(quantity)
    return (known.spoken if known else "") or quantity.replace("_", " ")


def nose(attitude: float) -> str:
    """Return how a lure's nose points, in words.

    Parameters
    ----------
    attitude : float [deg], nose down positive
    """
    if abs(attitude) < LEVEL:
        return "level"
    return f"nose {'down' if attitude > 0.0 else 'up'} by {abs(attitude):.0f} deg"
