"""The case file's tables and keys; values arrive in SI, structure is checked here.

What a value may be is in fields.py and limits.py; what goes with what is in rules/.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from simsoft.case import readers
from simsoft.case.model import (
    BendingModel,
    BodyFamily,
    HopMotion,
    LineKind,
    Metal,
    PartKind,
    Ring,
    ScenarioKind,
    Taper,
    Vector,
    WeightKind,
)
from simsoft.case.observed import SEEABLE, By
from simsoft.case.paddle_outlines import PADDLE_OUTLINES
from simsoft.case.profile import VALUES
from simsoft.case.readers import Direction, FileName, Hardness, Name, Shares, Switch, Text
from simsoft.case.schema_base import (
    DrawnTable,
    LoadsTable,
    NumericsTable,
    TableModel,
    ToleranceTable,
)
from simsoft.case.wishes import WISHED, Mould
from simsoft.case.wording import Place

Section = Literal["rectangle", "ellipse"]
Curl = Literal["across", "in-plane"]
Bending = Literal["beam", "plate", "blend"]
LengthUnit = Literal["mm", "inch"]
Hand = Literal["base"]


class WaterTable(TableModel):
    """``[water]``: temperature and salinity, or density and viscosity."""

    temperature: Annotated[float, readers.number("water.temperature")] = 293.15
    salinity: Annotated[float, readers.number("water.salinity")] = 0.0
    density: Annotated[float, readers.number("water.density")] | None = None
    viscosity: Annotated[float, readers.number("water.viscosity")] | None = None


class MaterialTable(TableModel):
    """``[material]``: durometer with its corrections, or an explicit modulus."""

    durometer: Hardness | None = None
    youngs_modulus: Annotated[float, readers.number("material.youngs_modulus")] | None = None
    poisson_ratio: Annotated[float, readers.number("material.poisson_ratio")] | None = None
    density: Annotated[float, readers.number("material.density")] | None = None
    salt_fraction: Annotated[float, readers.number("material.salt_fraction")] = 0.0
    loss_factor: Annotated[float, readers.number("material.loss_factor")] | None = None
    kelvin_voigt_time: Annotated[float, readers.number("material.kelvin_voigt_time")] | None = None
    static_factor: Annotated[float, readers.number("material.static_factor")] | None = None
    rate_exponent: Annotated[float, readers.number("material.rate_exponent")] | None = None
    temperature_slope: Annotated[float, readers.number("material.temperature_slope")] | None = None


class PartTable(TableModel):
    """``[[parts]]``: one appendage of any kind; rules/ says which keys go with which kind."""

    name: Name
    kind: Annotated[PartKind, readers.choice(PartKind)]
    length: Annotated[float, readers.number("parts.length")]
    width: Annotated[Taper, readers.taper("parts.width")] | None = None
    thickness: Annotated[Taper, readers.taper("parts.thickness")] | None = None
    diameter: Annotated[Taper, readers.taper("parts.diameter")] | None = None
    section: Annotated[Section, readers.choice(Section)] | None = None
    position: Annotated[Vector, readers.vector("parts.position")] | None = None
    direction: Direction = (1.0, 0.0, 0.0)
    width_axis: Direction = (0.0, 0.0, 1.0)
    arc_angle: Annotated[float, readers.number("parts.arc_angle")] = 0.0
    curl: Annotated[Curl, readers.choice(Curl)] | None = None
    set_angle: Annotated[float, readers.number("parts.set_angle")] = 0.0
    set_fraction: Annotated[float, readers.number("parts.set_fraction")] | None = None
    bending: Annotated[Bending, readers.choice(Bending)] = "blend"
    neck_length: Annotated[float, readers.number("parts.neck_length")] | None = None
    neck_width: Annotated[float, readers.number("parts.neck_width")] | None = None
    neck_thickness: Annotated[float, readers.number("parts.neck_thickness")] | None = None
    paddle_shape: Annotated[str, readers.choice(list(PADDLE_OUTLINES))] = "disc"
    paddle_diameter: Annotated[float, readers.number("parts.paddle_diameter")] | None = None
    paddle_width: Annotated[float, readers.number("parts.paddle_width")] | None = None
    paddle_height: Annotated[float, readers.number("parts.paddle_height")] | None = None
    paddle_thickness: Annotated[float, readers.number("parts.paddle_thickness")] | None = None
    paddle_angle: Annotated[float, readers.number("parts.paddle_angle")] | None = None
    paddle_offset: Annotated[float, readers.number("parts.paddle_offset")] | None = None
    body_height: Annotated[float, readers.number("parts.body_height")] | None = None
    body_width: Annotated[float, readers.number("parts.body_width")] | None = None
    fork_angle: Annotated[float, readers.number("parts.fork_angle")] | None = None
    rim_width: Annotated[float, readers.number("parts.rim_width")] | None = None
    rim_height: Annotated[float, readers.number("parts.rim_height")] | None = None
    rib_width: Annotated[float, readers.number("parts.rib_width")] | None = None
    rib_height: Annotated[float, readers.number("parts.rib_height")] | None = None
    tip_mass: Annotated[float, readers.number("parts.tip_mass")] = 0.0
    tip_force: Annotated[Vector, readers.vector("parts.tip_force")] = (0.0, 0.0, 0.0)
    follower_force: Annotated[Vector, readers.vector("parts.follower_force")] = (0.0, 0.0, 0.0)
    tip_moment: Annotated[Vector, readers.vector("parts.tip_moment")] = (0.0, 0.0, 0.0)
    line_weight: Annotated[float, readers.number("parts.line_weight")] | None = None
    mirrored: Switch = False
    density: Annotated[float, readers.number("parts.density")] | None = None
    outline: Annotated[tuple[Ring, ...], readers.curve()] | None = None
    holes: Annotated[tuple[Ring, ...], readers.curves()] = ()
    outline_file: Text | None = None
    clamp: Annotated[tuple[Ring, ...], readers.line()] | None = None
    clamp_share: Shares | None = None
    model: Annotated[BendingModel, readers.choice(BendingModel)] = "auto"
    loads: LoadsTable = LoadsTable()


class BodyTable(TableModel):
    """``[body]``: sections from nose to tail, and what is poured; the rules say what fits."""

    family: Annotated[BodyFamily, readers.choice(BodyFamily)]
    length: Annotated[float, readers.number("body.length")]
    height: Annotated[float | Taper, readers.profile("body.height")]
    width: Annotated[float | Taper, readers.profile("body.width")] | None = None
    section: Annotated[Section, readers.choice(Section)] = "ellipse"
    fullness: Annotated[Taper, readers.taper("body.fullness")] | None = None
    mesh: FileName | None = None
    rib_depth: Annotated[float, readers.number("body.rib_depth")] = 0.0
    rib_pitch: Annotated[float, readers.number("body.rib_pitch")] = 0.0
    slot_width: Annotated[float, readers.number("body.slot_width")] = 0.0
    slot_height: Annotated[float, readers.number("body.slot_height")] = 0.0
    slot_from: Annotated[float, readers.number("body.slot_from")] = 0.0
    slot_to: Annotated[float, readers.number("body.slot_to")] | None = None
    density: Annotated[float, readers.number("body.density")] | None = None
    salt_fraction: Annotated[float, readers.number("body.salt_fraction")] = 0.0
    microballoon_fraction: Annotated[float, readers.number("body.microballoon_fraction")] = 0.0
    microballoon_density: Annotated[float, readers.number("body.microballoon_density")] | None = (
        None
    )
    air_fraction: Annotated[float, readers.number("body.air_fraction")] = 0.0
    flexible: Switch | None = None
    stiff_from: Annotated[float, readers.number("body.stiff_from")] | None = None
    stiff_to: Annotated[float, readers.number("body.stiff_to")] | None = None
    cross_drag: Annotated[float, readers.number("body.cross_drag")] | None = None
    axial_drag: Annotated[float, readers.number("body.axial_drag")] | None = None
    drag_factor: Annotated[float, readers.number("body.drag_factor")] | None = None
    skin_friction: Annotated[float, readers.number("body.skin_friction")] | None = None


class HookTable(TableModel):
    """``[rig.hook]``: wire, and its path point by point or from gap and shank."""

    wire_diameter: Annotated[float, readers.number("hook.wire_diameter")]
    gap: Annotated[float, readers.number("hook.gap")] | None = None
    shank: Annotated[float, readers.number("hook.shank")] | None = None
    bend: Annotated[float, readers.number("hook.bend")] | None = None
    point: Annotated[float, readers.number("hook.point")] | None = None
    offset: Annotated[float, readers.number("hook.offset")] = 0.0
    eye: Annotated[Vector, readers.vector("hook.eye")] = (0.0, 0.0, 0.0)
    path: Annotated[tuple[Vector, ...], readers.path("hook.path")] | None = None
    mass: Annotated[float, readers.number("hook.mass")] | None = None


class WeightTable(TableModel):
    """``[[rig.weights]]``: one weight on or in the lure."""

    name: Name
    kind: Annotated[WeightKind, readers.choice(WeightKind)]
    material: Annotated[Metal, readers.choice(Metal)]
    mass: Annotated[float, readers.number("weights.mass")]
    position: Annotated[Vector, readers.vector("weights.position")]
    density: Annotated[float, readers.number("weights.density")] | None = None


class RigTable(TableModel):
    """``[rig]``: what the maker hangs on the lure."""

    hook: HookTable | None = None
    weights: list[WeightTable] = Field([])


class LineTable(TableModel):
    """``[scenarios.line]``: the line at the hook's eye."""

    kind: Annotated[LineKind, readers.choice(LineKind)] | None = None
    direction: Direction | None = None
    tension: Annotated[float, readers.number("line.tension")] = 0.0
    length: Annotated[float, readers.number("line.length")] | None = None
    diameter: Annotated[float, readers.number("line.diameter")] | None = None


class ScenarioTable(TableModel):
    """``[[scenarios]]``: one question asked of the lure."""

    name: Name
    kind: Annotated[ScenarioKind, readers.choice(ScenarioKind)]
    speed: Annotated[tuple[float, ...], readers.series("scenarios.speed")] = ()
    gravity: Switch = True
    onset: Switch | None = None
    march: Switch | None = None
    duration: Annotated[float, readers.number("scenarios.duration")] | None = None
    stream_direction: Direction = (1.0, 0.0, 0.0)
    shear: Annotated[float, readers.number("scenarios.shear")] = 0.0
    modes: Annotated[int, readers.whole("scenarios.modes")] = 3
    max_speed: Annotated[float, readers.number("scenarios.max_speed")] | None = None
    free: Switch = False
    depth: Annotated[float, readers.number("scenarios.depth")] | None = None
    tilt: Annotated[float, readers.number("scenarios.tilt")] = 0.0
    wanted_sink_rate: Annotated[float, readers.number("scenarios.wanted_sink_rate")] | None = None
    wanted_attitude: Annotated[float, readers.number("scenarios.wanted_attitude")] | None = None
    line: LineTable = LineTable()
    motion: Annotated[HopMotion, readers.choice(HopMotion)] | None = None
    amplitude: Annotated[float, readers.number("scenarios.amplitude")] | None = None
    cadence: Annotated[float, readers.number("scenarios.cadence")] | None = None
    times: Annotated[tuple[float, ...], readers.series("scenarios.times")] = ()
    positions: Annotated[tuple[float, ...], readers.series("scenarios.positions")] = ()
    launch_speed: Annotated[float, readers.number("scenarios.launch_speed")] | None = None
    launch_angle: Annotated[float, readers.number("scenarios.launch_angle")] | None = None
    release_height: Annotated[float, readers.number("scenarios.release_height")] | None = None
    wind: Annotated[tuple[float, ...], readers.series("scenarios.wind")] = ()
    wind_from: Annotated[tuple[float, ...], readers.series("scenarios.wind_from")] = ()
    air_temperature: Annotated[float, readers.number("scenarios.air_temperature")] = 288.15
    air_pressure: Annotated[float, readers.number("scenarios.air_pressure")] = 101325.0
    line_drag: Annotated[float, readers.number("scenarios.line_drag")] | None = None


class BriefTable(TableModel):
    """``[[brief]]``: one thing the maker wants; brief.py reads the limits."""

    name: Name | None = None
    quantity: Annotated[str, readers.choice(list(WISHED))]
    at_least: Any = None
    at_most: Any = None
    equals: Text | None = None
    better_than: Annotated[Hand, readers.choice(Hand)] | None = None
    same_as: Annotated[Hand, readers.choice(Hand)] | None = None
    within: Annotated[float, readers.number("brief.within")] | None = None
    scenario: Name | None = None
    part: Text | None = None
    speed: Annotated[float, readers.number("brief.speed")] | None = None
    temperature: Annotated[float, readers.number("water.temperature")] | None = None
    at: dict[str, Any] | None = None


class SeenTable(TableModel):
    """``[[seen]]``: one look at what the bait in hand did; seen.py reads value and doubt."""

    quantity: Annotated[str, readers.choice(list(SEEABLE))]
    value: Any = None
    doubt: Any = None
    by: Annotated[By, readers.choice(By)] | None = None
    equals: Text | None = None
    speed: Annotated[float, readers.number("seen.speed")] | None = None
    temperature: Annotated[float, readers.number("water.temperature")] | None = None
    scenario: Name | None = None
    part: Text | None = None


class ShopTable(TableModel):
    """``[shop]``: how the part is moulded, and what a mould costs."""

    mould: Annotated[Mould, readers.choice(Mould)] | None = None
    mould_bias: Annotated[float, readers.number("shop.mould_bias")] | None = None
    bias_scatter: Annotated[float, readers.number("shop.bias_scatter")] | None = None
    bias_corrected: Switch = True
    shrinkage: Annotated[float, readers.number("shop.shrinkage")] | None = None
    shrinkage_scatter: Annotated[float, readers.number("shop.shrinkage_scatter")] | None = None
    cavities: Annotated[int, readers.whole("shop.cavities")] = 1
    runner_share: Annotated[float, readers.number("shop.runner_share")] | None = None
    loop_material: Annotated[float, readers.number("shop.loop_material")] | None = None
    loop_hours: Annotated[float, readers.number("shop.loop_hours")] | None = None
    metal_material: Annotated[float, readers.number("shop.metal_material")] | None = None
    metal_hours: Annotated[float, readers.number("shop.metal_hours")] | None = None
    hour_value: Annotated[float, readers.number("shop.hour_value")] = 1.0


def _measured(name: str) -> readers.Read:
    return readers.number(VALUES[name])


class ProfileValuesTable(TableModel):
    """``[profile_values]``: values of the named profile, changed for this case."""

    youngs_modulus: Annotated[float, _measured("youngs_modulus")] | None = None
    loss_factor: Annotated[float, _measured("loss_factor")] | None = None
    density: Annotated[float, _measured("density")] | None = None
    temperature_slope: Annotated[float, _measured("temperature_slope")] | None = None
    loss_slope: Annotated[float, _measured("loss_slope")] | None = None
    thickness_bias: Annotated[float, _measured("thickness_bias")] | None = None
    normal_drag: Annotated[float, _measured("normal_drag")] | None = None
    skin_friction: Annotated[float, _measured("skin_friction")] | None = None
    paddle_normal_force: Annotated[float, _measured("paddle_normal_force")] | None = None
    centre_of_pressure: Annotated[float, _measured("centre_of_pressure")] | None = None
    rotary_damping: Annotated[float, _measured("rotary_damping")] | None = None
    strouhal: Annotated[float, _measured("strouhal")] | None = None
    wake_growth: Annotated[float, _measured("wake_growth")] | None = None
    wake_moment: Annotated[float, _measured("wake_moment")] | None = None
    munk: Annotated[float, _measured("munk")] | None = None
    rim_force: Annotated[float, _measured("rim_force")] | None = None
    rim_rate: Annotated[float, _measured("rim_rate")] | None = None
    rim_damping: Annotated[float, _measured("rim_damping")] | None = None
    rim_inertia: Annotated[float, _measured("rim_inertia")] | None = None
    force_growth: Annotated[float, _measured("force_growth")] | None = None
    stall_angle: Annotated[float, _measured("stall_angle")] | None = None


class CaseTable(TableModel):
    """The whole case file."""

    title: Text
    length_unit: Annotated[LengthUnit, readers.choice(LengthUnit)] = "mm"
    profile: Text | None = None
    profile_values: ProfileValuesTable = ProfileValuesTable()
    drawn: DrawnTable | None = None
    water: WaterTable = WaterTable()
    material: MaterialTable
    body: BodyTable | None = None
    rig: RigTable | None = None
    parts: list[PartTable] = Field([])
    scenarios: list[ScenarioTable] = Field([])
    numerics: NumericsTable = NumericsTable()
    tolerance: ToleranceTable = ToleranceTable()
    seen: list[SeenTable] = Field([])
    brief: list[BriefTable] = Field([])
    shop: ShopTable = ShopTable()


# Tables inside tables, and lists of tables inside tables.
TABLES: dict[type[TableModel], dict[str, type[TableModel]]] = {
    CaseTable: {
        "profile_values": ProfileValuesTable,
        "drawn": DrawnTable,
        "water": WaterTable,
        "material": MaterialTable,
        "body": BodyTable,
        "rig": RigTable,
        "numerics": NumericsTable,
        "tolerance": ToleranceTable,
        "shop": ShopTable,
    },
    PartTable: {"loads": LoadsTable},
    ScenarioTable: {"line": LineTable},
    RigTable: {"hook": HookTable},
}
LISTS: dict[type[TableModel], dict[str, type[TableModel]]] = {
    CaseTable: {
        "parts": PartTable,
        "scenarios": ScenarioTable,
        "seen": SeenTable,
        "brief": BriefTable,
    },
    RigTable: {"weights": WeightTable},
}


def table_at(place: Place) -> type[TableModel]:
    """Return the schema of the table at a place; KeyError where there is none."""
    table: type[TableModel] = CaseTable
    for step in place:
        if isinstance(step, str):
            inside = TABLES.get(table, {}) | LISTS.get(table, {})
            table = inside[step]
    return table


def keys_of(table: type[TableModel]) -> list[str]:
    """Return the keys a table knows, in the order of the documentation."""
    return list(table.model_fields)
