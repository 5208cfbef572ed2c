"""The case file's tables and keys; values arrive in SI, structure is checked here.

What a value may be is in fields.py and limits.py; what goes with what is in rules/.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, PlainValidator

from simsoft.case import fields
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
from simsoft.case.profile import VALUES
from simsoft.case.schema_base import DrawnTable, NumericsTable, Table, ToleranceTable
from simsoft.case.schema_base import number as _number
from simsoft.case.schema_base import words as _words
from simsoft.case.wishes import WISHED, Mould
from simsoft.case.wording import Place


def _vector(key: str) -> PlainValidator:
    return PlainValidator(fields.vector(key))


def _taper(key: str) -> PlainValidator:
    return PlainValidator(fields.taper(key))


def _profile(key: str) -> PlainValidator:
    return PlainValidator(fields.profile(key))


Section = Literal["rectangle", "ellipse"]
Curl = Literal["across", "in-plane"]
Bending = Literal["beam", "plate", "blend"]
PaddleShape = Literal["disc", "boot"]
LengthUnit = Literal["mm", "inch"]
Switch = Annotated[bool, PlainValidator(fields.switch)]
Direction = Annotated[Vector, PlainValidator(fields.unit_vector)]
Name = Annotated[str, PlainValidator(fields.name)]
Hardness = Annotated[tuple[Literal["OO", "A"], float], PlainValidator(fields.durometer)]


class WaterTable(Table):
    """``[water]``: temperature and salinity, or density and viscosity."""

    temperature: Annotated[float, _number("water.temperature")] = 293.15
    salinity: Annotated[float, _number("water.salinity")] = 0.0
    density: Annotated[float, _number("water.density")] | None = None
    viscosity: Annotated[float, _number("water.viscosity")] | None = None


class MaterialTable(Table):
    """``[material]``: durometer with its corrections, or an explicit modulus."""

    durometer: Hardness | None = None
    youngs_modulus: Annotated[float, _number("material.youngs_modulus")] | None = None
    poisson_ratio: Annotated[float, _number("material.poisson_ratio")] | None = None
    density: Annotated[float, _number("material.density")] | None = None
    salt_fraction: Annotated[float, _number("material.salt_fraction")] = 0.0
    loss_factor: Annotated[float, _number("material.loss_factor")] | None = None
    kelvin_voigt_time: Annotated[float, _number("material.kelvin_voigt_time")] | None = None
    static_factor: Annotated[float, _number("material.static_factor")] | None = None
    rate_exponent: Annotated[float, _number("material.rate_exponent")] | None = None
    temperature_slope: Annotated[float, _number("material.temperature_slope")] | None = None


class LoadsTable(Table):
    """``[parts.loads]``: switches and coefficients of one part."""

    normal_drag: Annotated[float, _number("loads.normal_drag")] | None = None
    skin_friction: Annotated[float, _number("loads.skin_friction")] | None = None
    reactive: Switch = True
    added_mass: Switch = True
    finite_span: Switch = True
    shedding: Switch | None = None
    paddle_normal_force: Annotated[float, _number("loads.paddle_normal_force")] | None = None
    centre_of_pressure: Annotated[float, _number("loads.centre_of_pressure")] | None = None
    rotary_damping: Annotated[float, _number("loads.rotary_damping")] | None = None
    strouhal: Annotated[float, _number("loads.strouhal")] | None = None
    wake_growth: Annotated[float, _number("loads.wake_growth")] | None = None
    wake_moment: Annotated[float, _number("loads.wake_moment")] | None = None
    munk: Annotated[float, _number("loads.munk")] | None = None
    rim_force: Annotated[float, _number("loads.rim_force")] | None = None
    rim_rate: Annotated[float, _number("loads.rim_rate")] | None = None
    rim_damping: Annotated[float, _number("loads.rim_damping")] | None = None
    rim_inertia: Annotated[float, _number("loads.rim_inertia")] | None = None
    force_growth: Annotated[float, _number("loads.force_growth")] | None = None
    stall_angle: Annotated[float, _number("loads.stall_angle")] | None = None


class PartTable(Table):
    """``[[parts]]``: one appendage of any kind; rules/ says which keys go with which kind."""

    name: Name
    kind: Annotated[PartKind, _words(PartKind)]
    length: Annotated[float, _number("parts.length")]
    width: Annotated[Taper, _taper("parts.width")] | None = None
    thickness: Annotated[Taper, _taper("parts.thickness")] | None = None
    diameter: Annotated[Taper, _taper("parts.diameter")] | None = None
    section: Annotated[Section, _words(Section)] | None = None
    position: Annotated[Vector, _vector("parts.position")] = (0.0, 0.0, 0.0)
    direction: Direction = (1.0, 0.0, 0.0)
    width_axis: Direction = (0.0, 0.0, 1.0)
    arc_angle: Annotated[float, _number("parts.arc_angle")] = 0.0
    curl: Annotated[Curl, _words(Curl)] | None = None
    set_angle: Annotated[float, _number("parts.set_angle")] = 0.0
    set_fraction: Annotated[float, _number("parts.set_fraction")] | None = None
    bending: Annotated[Bending, _words(Bending)] = "blend"
    neck_length: Annotated[float, _number("parts.neck_length")] | None = None
    neck_width: Annotated[float, _number("parts.neck_width")] | None = None
    neck_thickness: Annotated[float, _number("parts.neck_thickness")] | None = None
    paddle_shape: Annotated[PaddleShape, _words(PaddleShape)] = "disc"
    paddle_diameter: Annotated[float, _number("parts.paddle_diameter")] | None = None
    paddle_width: Annotated[float, _number("parts.paddle_width")] | None = None
    paddle_height: Annotated[float, _number("parts.paddle_height")] | None = None
    paddle_thickness: Annotated[float, _number("parts.paddle_thickness")] | None = None
    paddle_angle: Annotated[float, _number("parts.paddle_angle")] | None = None
    paddle_offset: Annotated[float, _number("parts.paddle_offset")] | None = None
    fork_angle: Annotated[float, _number("parts.fork_angle")] | None = None
    rim_width: Annotated[float, _number("parts.rim_width")] | None = None
    rim_height: Annotated[float, _number("parts.rim_height")] | None = None
    rib_width: Annotated[float, _number("parts.rib_width")] | None = None
    rib_height: Annotated[float, _number("parts.rib_height")] | None = None
    tip_mass: Annotated[float, _number("parts.tip_mass")] = 0.0
    tip_force: Annotated[Vector, _vector("parts.tip_force")] = (0.0, 0.0, 0.0)
    follower_force: Annotated[Vector, _vector("parts.follower_force")] = (0.0, 0.0, 0.0)
    tip_moment: Annotated[Vector, _vector("parts.tip_moment")] = (0.0, 0.0, 0.0)
    line_weight: Annotated[float, _number("parts.line_weight")] | None = None
    mirrored: Switch = False
    density: Annotated[float, _number("parts.density")] | None = None
    outline: Annotated[tuple[Ring, ...], PlainValidator(fields.curves(1))] | None = None
    holes: Annotated[tuple[Ring, ...], PlainValidator(fields.curves(2))] = ()
    outline_file: Annotated[str, PlainValidator(fields.title)] | None = None
    clamp: Annotated[tuple[Ring, ...], PlainValidator(fields.curves(1, fewest=2))] | None = None
    clamp_share: Annotated[tuple[float, float], PlainValidator(fields.shares)] | None = None
    model: Annotated[BendingModel, _words(BendingModel)] = "auto"
    loads: LoadsTable = LoadsTable()


class BodyTable(Table):
    """``[body]``: sections from nose to tail, and what is poured; the rules say what fits."""

    family: Annotated[BodyFamily, _words(BodyFamily)]
    length: Annotated[float, _number("body.length")]
    height: Annotated[float | Taper, _profile("body.height")]
    width: Annotated[float | Taper, _profile("body.width")] | None = None
    section: Annotated[Section, _words(Section)] = "ellipse"
    fullness: Annotated[Taper, _taper("body.fullness")] | None = None
    mesh: Annotated[str, PlainValidator(fields.file_name)] | None = None
    rib_depth: Annotated[float, _number("body.rib_depth")] = 0.0
    rib_pitch: Annotated[float, _number("body.rib_pitch")] = 0.0
    slot_width: Annotated[float, _number("body.slot_width")] = 0.0
    slot_height: Annotated[float, _number("body.slot_height")] = 0.0
    slot_from: Annotated[float, _number("body.slot_from")] = 0.0
    slot_to: Annotated[float, _number("body.slot_to")] | None = None
    density: Annotated[float, _number("body.density")] | None = None
    salt_fraction: Annotated[float, _number("body.salt_fraction")] = 0.0
    microballoon_fraction: Annotated[float, _number("body.microballoon_fraction")] = 0.0
    microballoon_density: Annotated[float, _number("body.microballoon_density")] | None = None
    air_fraction: Annotated[float, _number("body.air_fraction")] = 0.0
    flexible: Switch | None = None
    stiff_from: Annotated[float, _number("body.stiff_from")] | None = None
    stiff_to: Annotated[float, _number("body.stiff_to")] | None = None
    cross_drag: Annotated[float, _number("body.cross_drag")] | None = None
    axial_drag: Annotated[float, _number("body.axial_drag")] | None = None
    drag_factor: Annotated[float, _number("body.drag_factor")] | None = None
    skin_friction: Annotated[float, _number("body.skin_friction")] | None = None


class HookTable(Table):
    """``[rig.hook]``: wire, and its path point by point or from gap and shank."""

    wire_diameter: Annotated[float, _number("hook.wire_diameter")]
    gap: Annotated[float, _number("hook.gap")] | None = None
    shank: Annotated[float, _number("hook.shank")] | None = None
    bend: Annotated[float, _number("hook.bend")] | None = None
    point: Annotated[float, _number("hook.point")] | None = None
    offset: Annotated[float, _number("hook.offset")] = 0.0
    eye: Annotated[Vector, _vector("hook.eye")] = (0.0, 0.0, 0.0)
    path: Annotated[tuple[Vector, ...], PlainValidator(fields.path("hook.path"))] | None = None
    mass: Annotated[float, _number("hook.mass")] | None = None


class WeightTable(Table):
    """``[[rig.weights]]``: one weight on or in the lure."""

    name: Name
    kind: Annotated[WeightKind, _words(WeightKind)]
    material: Annotated[Metal, _words(Metal)]
    mass: Annotated[float, _number("weights.mass")]
    position: Annotated[Vector, _vector("weights.position")]
    density: Annotated[float, _number("weights.density")] | None = None


class RigTable(Table):
    """``[rig]``: what the maker hangs on the lure."""

    hook: HookTable | None = None
    weights: list[WeightTable] = Field(default_factory=list)


class LineTable(Table):
    """``[scenarios.line]``: the line at the hook's eye."""

    kind: Annotated[LineKind, _words(LineKind)] | None = None
    direction: Direction | None = None
    tension: Annotated[float, _number("line.tension")] = 0.0
    length: Annotated[float, _number("line.length")] = 10.0
    diameter: Annotated[float, _number("line.diameter")] = 0.0


class ScenarioTable(Table):
    """``[[scenarios]]``: one question asked of the lure."""

    name: Name
    kind: Annotated[ScenarioKind, _words(ScenarioKind)]
    speed: Annotated[tuple[float, ...], PlainValidator(fields.series("scenarios.speed"))] = ()
    gravity: Switch = True
    onset: Switch | None = None
    march: Switch | None = None
    duration: Annotated[float, _number("scenarios.duration")] | None = None
    stream_direction: Direction = (1.0, 0.0, 0.0)
    shear: Annotated[float, _number("scenarios.shear")] = 0.0
    modes: Annotated[int, PlainValidator(fields.whole("scenarios.modes"))] = 3
    max_speed: Annotated[float, _number("scenarios.max_speed")] | None = None
    free: Switch = False
    depth: Annotated[float, _number("scenarios.depth")] | None = None
    tilt: Annotated[float, _number("scenarios.tilt")] = 0.0
    wanted_sink_rate: Annotated[float, _number("scenarios.wanted_sink_rate")] | None = None
    wanted_attitude: Annotated[float, _number("scenarios.wanted_attitude")] | None = None
    line: LineTable = LineTable()
    motion: Annotated[HopMotion, _words(HopMotion)] | None = None
    amplitude: Annotated[float, _number("scenarios.amplitude")] | None = None
    cadence: Annotated[float, _number("scenarios.cadence")] | None = None
    times: Annotated[tuple[float, ...], PlainValidator(fields.series("scenarios.times"))] = ()
    positions: Annotated[
        tuple[float, ...], PlainValidator(fields.series("scenarios.positions"))
    ] = ()
    launch_speed: Annotated[float, _number("scenarios.launch_speed")] | None = None
    launch_angle: Annotated[float, _number("scenarios.launch_angle")] | None = None
    release_height: Annotated[float, _number("scenarios.release_height")] | None = None
    wind: Annotated[tuple[float, ...], PlainValidator(fields.series("scenarios.wind"))] = ()
    wind_from: Annotated[
        tuple[float, ...], PlainValidator(fields.series("scenarios.wind_from"))
    ] = ()
    air_temperature: Annotated[float, _number("scenarios.air_temperature")] = 288.15
    air_pressure: Annotated[float, _number("scenarios.air_pressure")] = 101325.0
    line_drag: Annotated[float, _number("scenarios.line_drag")] | None = None


class BriefTable(Table):
    """``[[brief]]``: one thing the maker wants; brief.py reads the limits."""

    name: Name | None = None
    quantity: Annotated[str, PlainValidator(fields.choice(list(WISHED)))]
    at_least: Any = None
    at_most: Any = None
    equals: Annotated[str, PlainValidator(fields.title)] | None = None
    scenario: Name | None = None
    part: Annotated[str, PlainValidator(fields.title)] | None = None
    speed: Annotated[float, _number("brief.speed")] | None = None
    temperature: Annotated[float, _number("water.temperature")] | None = None
    at: dict[str, Any] | None = None


class ShopTable(Table):
    """``[shop]``: how the part is moulded, and what a mould costs."""

    mould: Annotated[Mould, _words(Mould)] | None = None
    mould_bias: Annotated[float, _number("shop.mould_bias")] | None = None
    bias_scatter: Annotated[float, _number("shop.bias_scatter")] | None = None
    bias_corrected: Switch = True
    shrinkage: Annotated[float, _number("shop.shrinkage")] | None = None
    shrinkage_scatter: Annotated[float, _number("shop.shrinkage_scatter")] | None = None
    cavities: Annotated[int, PlainValidator(fields.whole("shop.cavities"))] = 1
    runner_share: Annotated[float, _number("shop.runner_share")] | None = None
    loop_material: Annotated[float, _number("shop.loop_material")] | None = None
    loop_hours: Annotated[float, _number("shop.loop_hours")] | None = None
    metal_material: Annotated[float, _number("shop.metal_material")] | None = None
    metal_hours: Annotated[float, _number("shop.metal_hours")] | None = None
    hour_value: Annotated[float, _number("shop.hour_value")] = 1.0


def _measured(name: str) -> PlainValidator:
    return _number(VALUES[name])


class ProfileValuesTable(Table):
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


class CaseTable(Table):
    """The whole case file."""

    title: Annotated[str, PlainValidator(fields.title)]
    length_unit: Annotated[LengthUnit, _words(LengthUnit)] = "mm"
    profile: Annotated[str, PlainValidator(fields.title)] | None = None
    profile_values: ProfileValuesTable = ProfileValuesTable()
    drawn: DrawnTable | None = None
    water: WaterTable = WaterTable()
    material: MaterialTable
    body: BodyTable | None = None
    rig: RigTable | None = None
    parts: list[PartTable] = Field(default_factory=list)
    scenarios: list[ScenarioTable] = Field(default_factory=list)
    numerics: NumericsTable = NumericsTable()
    tolerance: ToleranceTable = ToleranceTable()
    brief: list[BriefTable] = Field(default_factory=list)
    shop: ShopTable = ShopTable()


# Tables inside tables, and lists of tables inside tables.
TABLES: dict[type[Table], dict[str, type[Table]]] = {
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
LISTS: dict[type[Table], dict[str, type[Table]]] = {
    CaseTable: {"parts": PartTable, "scenarios": ScenarioTable, "brief": BriefTable},
    RigTable: {"weights": WeightTable},
}


def table_at(place: Place) -> type[Table]:
    """Return the schema of the table at a place; KeyError where there is none."""
    table: type[Table] = CaseTable
    for step in place:
        if isinstance(step, str):
            inside = TABLES.get(table, {}) | LISTS.get(table, {})
            table = inside[step]
    return table


def keys(table: type[Table]) -> list[str]:
    """Return the keys a table knows, in the order of the documentation."""
    return list(table.model_fields)
