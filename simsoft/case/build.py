"""From checked tables to the frozen Case: defaults that depend on the kind, frames, tapers."""

from __future__ import annotations

import math
from dataclasses import fields
from typing import TypeVar

from simsoft.case.brief import clauses
from simsoft.case.model import (
    Beads,
    BodyInput,
    Case,
    CastInput,
    HookInput,
    HopInput,
    HopMotion,
    LineInput,
    LineKind,
    LoadsInput,
    MaterialInput,
    Numerics,
    PaddleInput,
    Part,
    RigInput,
    Scenario,
    Taper,
    Tolerance,
    Vector,
    WaterInput,
    WeightInput,
)
from simsoft.case.paddle_outlines import PADDLE_OUTLINES
from simsoft.case.schema import (
    BodyTable,
    CaseTable,
    HookTable,
    LineTable,
    MaterialTable,
    PartTable,
    RigTable,
    ScenarioTable,
)
from simsoft.case.seen import looks
from simsoft.case.shapes.body import profiles
from simsoft.case.shapes.claw import claw_tapers
from simsoft.case.shapes.hook import hook_path
from simsoft.case.wishes import Shop

# Common practice, no source: most paddles stand square and hang a fifth of their height below
# the stem; fork lobes open 30 degrees to each side.
PADDLE_ANGLE = math.pi / 2
PADDLE_OFFSET_SHARE = 0.20
# Common practice, no source: a hook slot ends at six tenths of the body.
SLOT_TO_SHARE = 0.6
FORK_ANGLE = math.radians(30.0)
CAST_KEYS = tuple(field.name for field in fields(CastInput))
# Line that a hooked lure draws along as it falls: what is in the water of a bait let down a little
# way on slack line (common practice, no source).
FALL_LINE_LENGTH, FALL_LINE_DIAMETER = 2.0, 0.25e-3  # [m]
# Where the line leads: lifted half upward, twitched level, shaken up and down (common practice).
PULLED_ALONG: dict[HopMotion, Vector] = {
    "lift-drop": (-math.sqrt(0.5), 0.0, math.sqrt(0.5)),
    "twitch": (-1.0, 0.0, 0.0),
    "shake": (0.0, 0.0, 1.0),
}
# Slender round bodies bend in the water, and so does what a swim-bait has behind its hook; the
# others are as good as stiff (common practice, no source).
FLEXIBLE = ("worm", "stick-worm")
FLEXIBLE_ON_A_HOOK = (*FLEXIBLE, "swim-bait")
TAILS = ("ribbon", "curl-tail", "paddle-tail", "fork-tail")  # sit on the body's end unless told
NOSE: Vector = (0.0, 0.0, 0.0)

T = TypeVar("T")


def build(table: CaseTable, text: str) -> Case:
    """Return the Case of checked tables, without warnings.

    Parameters
    ----------
    table : CaseTable
        Tables that passed the schema and the rules.
    text : str
        The case file as read, kept for the results.
    """
    hooked = table.rig is not None and table.rig.hook is not None
    return Case(
        title=table.title,
        water=WaterInput(**table.water.model_dump()),
        material=_material(table.material),
        parts=tuple(_part(part, table.body) for part in table.parts),
        scenarios=tuple(_scenario(scenario, hooked) for scenario in table.scenarios),
        numerics=Numerics(**table.numerics.model_dump()),
        tolerance=Tolerance(**table.tolerance.model_dump()),
        length_unit=table.length_unit,
        text=text,
        body=None if table.body is None else _body(table.body, table.rig),
        rig=None if table.rig is None else _rig(table.rig),
        brief=clauses(table.brief),
        seen=looks(table.seen),
        shop=Shop(**table.shop.model_dump()),
    )


def _material(table: MaterialTable) -> MaterialInput:
    values = table.model_dump(exclude={"durometer"})
    scale, points = table.durometer or (None, None)
    return MaterialInput(hardness_scale=scale, hardness=points, **values)


def _root(table: PartTable, body: BodyTable | None) -> Vector:
    """Return where a part without a position is clamped: a tail at the end of the body."""
    return (body.length, 0.0, 0.0) if body is not None and table.kind in TAILS else NOSE


def _part(table: PartTable, body: BodyTable | None) -> Part:
    curl = table.curl or ("in-plane" if table.kind == "curl-tail" else "across")
    fork_angle = table.fork_angle
    if fork_angle is None:
        fork_angle = FORK_ANGLE if table.kind == "fork-tail" else 0.0
    width, thickness = _sizes(table)
    return Part(
        name=table.name,
        kind=table.kind,
        length=table.length,
        width=width,
        thickness=thickness,
        section="ellipse" if table.kind == "leg" else table.section or "rectangle",
        position=table.position or _root(table, body),
        direction=table.direction,
        width_axis=orthogonal(table.width_axis, table.direction),
        arc_angle=table.arc_angle,
        curl=curl,
        set_angle=table.set_angle,
        set_fraction=table.set_fraction,
        bending=table.bending,
        paddle=_paddle(table) if table.kind == "paddle-tail" else None,
        fork_angle=fork_angle,
        body_ahead=_pair(table.body_height, table.body_width),
        loads=LoadsInput(**table.loads.model_dump()),
        tip_mass=table.tip_mass,
        tip_force=table.tip_force,
        follower_force=table.follower_force,
        tip_moment=table.tip_moment,
        line_weight=table.line_weight,
        mirrored=table.mirrored,
        density=table.density,
        model=table.model,
        beads=Beads(
            table.rim_width or 0.0,
            table.rim_height or 0.0,
            table.rib_width or 0.0,
            table.rib_height or 0.0,
        ),
    )


def _sizes(table: PartTable) -> tuple[Taper, Taper]:
    """Return the width and thickness along the whole part; the rules made sure they are there."""
    if table.kind == "leg":
        return _given(table.diameter), _given(table.diameter)
    drawn = table.outline is not None or table.outline_file is not None
    # a drawn part's width is read off its outline once that is known
    width = Taper((0.0,), (table.length,)) if drawn else _given(table.width)
    thickness = _given(table.thickness)
    if drawn or table.kind != "claw":
        return width, thickness
    return claw_tapers(
        table.length, width, thickness, table.neck_length, table.neck_width, table.neck_thickness
    )


def _pair(height: float | None, width: float | None) -> tuple[float, float] | None:
    """Return both sizes, None where one is missing."""
    return None if height is None or width is None else (height, width)


def _given(value: T | None) -> T:
    if value is None:
        raise RuntimeError("a key that the rules require is missing")
    return value


def _paddle(table: PartTable) -> PaddleInput:
    sizes = [_given(getattr(table, key)) for key in PADDLE_OUTLINES[table.paddle_shape].keys]
    width, height = sizes[0], sizes[-1]
    offset = table.paddle_offset
    return PaddleInput(
        shape=table.paddle_shape,
        width=width,
        height=height,
        thickness=_given(table.paddle_thickness),
        angle=PADDLE_ANGLE if table.paddle_angle is None else table.paddle_angle,
        offset=PADDLE_OFFSET_SHARE * height if offset is None else offset,
    )


def _body(table: BodyTable, rig: RigTable | None) -> BodyInput:
    height, width = profiles(table.family, table.height, table.width)
    slot_to = SLOT_TO_SHARE * table.length if table.slot_to is None else table.slot_to
    hooked = table.stiff_to is not None or (rig is not None and rig.hook is not None)
    flexible = table.family in (FLEXIBLE_ON_A_HOOK if hooked else FLEXIBLE)
    if table.flexible is not None:
        flexible = table.flexible
    values = table.model_dump(
        exclude={"height", "width", "slot_to", "flexible", "mesh", "fullness"}
    )
    if table.slot_width == 0.0:
        slot_to = 0.0
    fullness = table.fullness  # kept whole: a dump would make a table of it
    return BodyInput(
        height=height, width=width, slot_to=slot_to, flexible=flexible, fullness=fullness, **values
    )


def _rig(table: RigTable) -> RigInput:
    return RigInput(
        hook=None if table.hook is None else _hook(table.hook),
        weights=tuple(WeightInput(**weight.model_dump()) for weight in table.weights),
    )


def _hook(table: HookTable) -> HookInput:
    path = table.path
    if path is None:
        path = hook_path(
            _given(table.gap),
            _given(table.shank),
            eye=table.eye,
            bend=table.bend,
            point=table.point,
            offset=table.offset,
        )
    return HookInput(table.wire_diameter, path, table.mass)


def _scenario(table: ScenarioTable, hooked: bool) -> Scenario:
    moving = table.kind == "retrieve"
    return Scenario(
        name=table.name,
        kind=table.kind,
        speeds=tuple(dict.fromkeys(table.speed)),
        gravity=table.gravity,
        onset=moving if table.onset is None else table.onset,
        march=moving if table.march is None else table.march,
        duration=table.duration,
        stream_direction=table.stream_direction,
        shear=table.shear,
        modes=table.modes,
        max_speed=table.max_speed,
        free=table.free,
        depth=table.depth,
        tilt=table.tilt,
        wanted_sink_rate=table.wanted_sink_rate,
        wanted_attitude=table.wanted_attitude,
        line=_line(table.line, table.motion or "lift-drop", table.kind == "sink", hooked),
        hop=HopInput(
            motion=table.motion or "lift-drop",
            amplitude=table.amplitude or 0.0,
            cadence=table.cadence or 0.0,
            times=table.times,
            positions=table.positions,
        ),
        cast=CastInput(**{key: getattr(table, key) for key in CAST_KEYS}),
    )


def _line(table: LineTable, motion: HopMotion, falls: bool, hooked: bool) -> LineInput:
    """Return the line; a hooked lure that falls draws some along even where none is stated."""
    kind: LineKind = "held" if motion == "shake" else "slack"
    length = FALL_LINE_LENGTH if falls else LineInput.length
    diameter = FALL_LINE_DIAMETER if falls and hooked else LineInput.diameter
    return LineInput(
        kind=table.kind or kind,
        direction=PULLED_ALONG[motion] if table.direction is None else table.direction,
        tension=table.tension,
        length=length if table.length is None else table.length,
        diameter=diameter if table.diameter is None else table.diameter,
    )


def orthogonal(width_axis: Vector, direction: Vector) -> Vector:
    """Return the unit vector nearest to ``width_axis`` at right angles to ``direction``.

    Parameters
    ----------
    width_axis, direction : unit vectors, not parallel
    """
    along = sum(a * b for a, b in zip(width_axis, direction, strict=True))
    x, y, z = (a - along * b for a, b in zip(width_axis, direction, strict=True))
    norm = math.hypot(x, y, z)
    return x / norm, y / norm, z / norm
