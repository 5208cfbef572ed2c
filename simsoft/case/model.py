"""The checked case: what the user wrote, in SI units, before any physics is applied.

Every field is either a plain SI number, a short word from a closed list, or ``None`` where
the user said nothing and a later room supplies the documented default. Angles are radians.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from simsoft.case.beads import Beads as Beads
from simsoft.case.measured import Profile
from simsoft.case.observed import Seen as Seen
from simsoft.case.scenario import CastInput as CastInput
from simsoft.case.scenario import HopInput as HopInput
from simsoft.case.scenario import HopMotion as HopMotion
from simsoft.case.scenario import LineInput as LineInput
from simsoft.case.scenario import LineKind as LineKind
from simsoft.case.scenario import Scenario as Scenario
from simsoft.case.scenario import ScenarioKind as ScenarioKind
from simsoft.case.scenario import Vector as Vector
from simsoft.case.sections import MeshSections as MeshSections
from simsoft.case.water import WaterInput as WaterInput
from simsoft.case.wishes import Clause, Shop

PartKind = Literal["strip", "ribbon", "curl-tail", "paddle-tail", "fork-tail", "claw", "leg"]
Ring = tuple[tuple[float, float], ...]
BendingModel = Literal["auto", "rod", "plate"]
BodyFamily = Literal["worm", "stick-worm", "swim-bait", "grub", "creature", "flat-sided"]
WeightKind = Literal["jig-head", "nail", "belly", "sliding"]
Metal = Literal["lead", "tungsten", "steel", "brass", "bismuth"]


@dataclass(frozen=True)
class Taper:
    """A dimension along a part: values [m] at stations given as fractions 0..1 of the length."""

    stations: tuple[float, ...]
    values: tuple[float, ...]


@dataclass(frozen=True)
class MaterialInput:
    """Material as stated by the user; ``None`` means the default of properties/material.py.

    Attributes
    ----------
    hardness_scale : 'OO', 'A' or None
    hardness : float or None [Shore points]
    youngs_modulus : float or None [Pa], taken as it is, at the water temperature
    poisson_ratio : float or None [-]
    density : float or None [kg/m^3], of the finished compound
    salt_fraction : float [kg/kg]
    loss_factor : float or None [-], tan delta
    kelvin_voigt_time : float or None [s]; excludes loss_factor
    static_factor : float or None [-], measured modulus over the durometer formula
    rate_exponent : float or None [-], n of E ~ f^n
    temperature_slope : float or None [1/K]
    """

    hardness_scale: Literal["OO", "A"] | None = None
    hardness: float | None = None
    youngs_modulus: float | None = None
    poisson_ratio: float | None = None
    density: float | None = None
    salt_fraction: float = 0.0
    loss_factor: float | None = None
    kelvin_voigt_time: float | None = None
    static_factor: float | None = None
    rate_exponent: float | None = None
    temperature_slope: float | None = None


@dataclass(frozen=True)
class LoadsInput:
    """Load switches and coefficients of one part; ``None`` means the documented default.

    Attributes
    ----------
    normal_drag : float or None [-], C_d of the section on its width; 0 switches drag off
    skin_friction : float or None [-], C_f on the wetted faces
    reactive : bool, large-amplitude elongated-body force (added mass is kept when off)
    added_mass : bool, fluid inertia of sections and paddle
    finite_span : bool, reduce the added mass for span not small against length
    shedding : bool or None, false leaves the wake of a paddle, or a stated one of a plate, out
    paddle_normal_force : float or None [-], C_N90
    centre_of_pressure : float or None [-], k_cp
    rotary_damping : float or None [-]
    strouhal : float or None [-], on the projected width
    wake_growth : float or None [-], eps
    wake_moment : float or None [-], C_M0 of a shed wake; next to none by default
    munk : float or None [-], share of the potential-flow turning moment of the paddle
    rim_force, rim_rate, rim_damping : float or None [-], of the wake that a paddle drags along
    rim_inertia : float or None [-], water carried along the paddle over the water it displaces
    force_growth : float or None [-], growth of the paddle's normal force with its wake
    stall_angle : float or None [rad], incidence past which a plate's edges lose their suction
    """

    normal_drag: float | None = None
    skin_friction: float | None = None
    reactive: bool = True
    added_mass: bool = True
    finite_span: bool = True
    shedding: bool | None = None
    paddle_normal_force: float | None = None
    centre_of_pressure: float | None = None
    rotary_damping: float | None = None
    strouhal: float | None = None
    wake_growth: float | None = None
    wake_moment: float | None = None
    munk: float | None = None
    rim_force: float | None = None
    rim_rate: float | None = None
    rim_damping: float | None = None
    rim_inertia: float | None = None
    force_growth: float | None = None
    stall_angle: float | None = None


# Of a paddle that bends: the patch that its stem's end holds reaches no nearer to the rim.
HELD_WITHIN = 0.7


@dataclass(frozen=True)
class PaddleInput:
    """The plate at the end of a paddle tail.

    Attributes
    ----------
    shape : str, a word of ``paddle_outlines``: 'disc', 'boot' (rectangle)
    width, height : float [m], across the kick and along the body's height (equal for a disc)
    thickness : float [m]
    angle : float [rad], between the plate and the stem's axis; pi/2 is square to the stem
    offset : float [m], paddle centre from the stem's axis, along the plate, away from
        ``width_axis`` (a boot hanging below the stem has a positive offset)
    """

    shape: str
    width: float
    height: float
    thickness: float
    angle: float
    offset: float


@dataclass(frozen=True)
class Part:
    """One flexible appendage clamped at its root.

    Attributes
    ----------
    name : str, unique in the case
    kind : str
    length : float [m], developed length (of the stem for a paddle tail)
    width, thickness : Taper [m], along the length (stem sections for a paddle tail;
        equal and round for a leg)
    section : 'rectangle' or 'ellipse'
    position : vector [m] of the clamp
    direction, width_axis : unit vectors, rest direction at the clamp and width direction;
        orthogonal (x downstream, y to the side, z up)
    arc_angle : float [rad], total natural turning of the moulded centreline
    curl : 'across' (bends across the flat, about the width axis) or 'in-plane' (sickle)
    set_angle : float [rad], bend held in the package, across the flat
    set_fraction : float or None [-], retained share of set_angle
    bending : 'beam', 'plate' or 'blend', which modulus a wide strip bends with
    paddle : PaddleInput or None
    fork_angle : float [rad], half angle between the lobes of a fork tail
    body_ahead : (height, width) [m] of the body where the stem begins, None where none is stated
    loads : LoadsInput
    tip_mass : float [kg], lumped rigid mass at the tip (validation, weights)
    tip_force : vector [N], dead load at the tip
    follower_force : vector [N], load in the tip's own axes (thickness, width, tangent)
    tip_moment : vector [N m], dead moment at the tip
    line_weight : float or None [N/m], replaces weight minus buoyancy along -z (validation)
    mirrored : bool, the part is a pair: this one and its mirror image in y
    model : 'auto' (by shape), 'rod' or 'plate'
    density : float or None [kg/m^3], of this part; None for the material's
    soft_ahead : float [m], first length of a stem that is soft body behind the hook
    outline : tuple of closed curves [m] or None, drawn planform: along the part from the clamp,
        across it; the outline first, then holes
    clamp : line of points [m] or None, stretch of the outline that is held, counter-clockwise, its
        ends among the outline's points; None for the side at the root
    beads : Beads, on the web whose thickness is ``thickness``
    handedness : float, -1 for the mirror image of a pair, whose moulded bends across the flat
        turn the other way in its own axes; 1 otherwise
    """

    name: str
    kind: PartKind
    length: float
    width: Taper
    thickness: Taper
    section: Literal["rectangle", "ellipse"] = "rectangle"
    position: Vector = (0.0, 0.0, 0.0)
    direction: Vector = (1.0, 0.0, 0.0)
    width_axis: Vector = (0.0, 0.0, 1.0)
    arc_angle: float = 0.0
    curl: Literal["across", "in-plane"] = "across"
    set_angle: float = 0.0
    set_fraction: float | None = None
    bending: Literal["beam", "plate", "blend"] = "blend"
    paddle: PaddleInput | None = None
    fork_angle: float = 0.0
    body_ahead: tuple[float, float] | None = None
    loads: LoadsInput = field(default_factory=LoadsInput)
    tip_mass: float = 0.0
    tip_force: Vector = (0.0, 0.0, 0.0)
    follower_force: Vector = (0.0, 0.0, 0.0)
    tip_moment: Vector = (0.0, 0.0, 0.0)
    line_weight: float | None = None
    mirrored: bool = False
    model: BendingModel = "auto"
    outline: tuple[Ring, ...] | None = None
    clamp: Ring | None = None
    beads: Beads = field(default_factory=Beads)
    handedness: float = 1.0
    density: float | None = None
    soft_ahead: float = 0.0


@dataclass(frozen=True)
class BodyInput:
    """The body: sections along x from the nose at the origin to the tail, centred on the x axis.

    Attributes
    ----------
    family : str, whose shares gave the profiles that the user did not state
    length : float [m]
    height, width : Taper [m], outer size of the sections along z and y, from nose to tail
    section : 'ellipse' or 'rectangle'
    fullness : Taper or None [-], area over height times width; None for that of ``section``
    measured : MeshSections or None, sections of a mesh that stands in for the tables
    rib_depth, rib_pitch : float [m], ring grooves: depth below the outer size, distance from
        rib to rib; zero for a smooth body
    slot_width, slot_height : float [m], of the hook slot, cut upward from the belly; zero
        where there is none
    slot_from, slot_to : float [m], ends of the slot behind the nose
    density : float or None [kg/m^3], of the finished body; None for the material's with
    salt_fraction, microballoon_fraction : float [kg/kg], on top of the material's
    microballoon_density : float or None [kg/m^3], true density
    air_fraction : float [m^3/m^3], entrained bubbles
    flexible : bool, the lengths in front of and behind the hooked length bend
    stiff_from, stiff_to : float or None [m], ends of the hooked length behind the nose; None
        for the ends of the hook
    cross_drag, axial_drag : float or None [-], of the body across on its side area and along
        on its largest section, None for the documented defaults
    drag_factor : float or None [-], times both, in water and in air; None is 1 with a band
    skin_friction : float or None [-]
    """

    family: BodyFamily
    length: float
    height: Taper
    width: Taper
    section: Literal["rectangle", "ellipse"] = "ellipse"
    fullness: Taper | None = None
    measured: MeshSections | None = None
    rib_depth: float = 0.0
    rib_pitch: float = 0.0
    slot_width: float = 0.0
    slot_height: float = 0.0
    slot_from: float = 0.0
    slot_to: float = 0.0
    density: float | None = None
    salt_fraction: float = 0.0
    microballoon_fraction: float = 0.0
    microballoon_density: float | None = None
    air_fraction: float = 0.0
    flexible: bool = False
    stiff_from: float | None = None
    stiff_to: float | None = None
    cross_drag: float | None = None
    axial_drag: float | None = None
    drag_factor: float | None = None
    skin_friction: float | None = None


@dataclass(frozen=True)
class HookInput:
    """A hook: a round wire along a path.

    Attributes
    ----------
    wire_diameter : float [m]
    path : tuple of vectors [m] in the lure's axes, from the eye to the point, which is last
    mass : float or None [kg], weighed; None for steel wire of that length
    """

    wire_diameter: float
    path: tuple[Vector, ...]
    mass: float | None = None


@dataclass(frozen=True)
class WeightInput:
    """A weight on or in the lure.

    Attributes
    ----------
    name : str, unique in the case
    kind : str; jig heads and sliding weights stand in the water, nails and belly weights in
        the body
    material : str
    mass : float [kg]
    position : vector [m] of its centre
    density : float or None [kg/m^3]; None for the metal's own
    """

    name: str
    kind: WeightKind
    material: Metal
    mass: float
    position: Vector
    density: float | None = None


@dataclass(frozen=True)
class RigInput:
    """Hook and weights of the lure."""

    hook: HookInput | None = None
    weights: tuple[WeightInput, ...] = ()


@dataclass(frozen=True)
class Numerics:
    """Discretisation asked for by the user; ``None`` lets the program choose.

    Attributes
    ----------
    elements : int or None, per part
    step : float or None [s]
    """

    elements: int | None = None
    step: float | None = None


@dataclass(frozen=True)
class Tolerance:
    """Input scatter (one standard deviation) that the bands are made from.

    ``None`` means the documented default of the room that uses it.

    Attributes
    ----------
    hardness : float or None [Shore points]
    thickness : float or None [m]
    modulus : float or None [-], relative, for a directly given modulus
    density : float or None [kg/m^3]
    temperature : float or None [K], of the water about the stated one
    speed : float or None [-], relative, of the retrieve about the stated one
    set_angle : float or None [rad], bend held in the package, about the stated one
    """

    hardness: float | None = None
    thickness: float | None = None
    modulus: float | None = None
    density: float | None = None
    temperature: float | None = None
    speed: float | None = None
    set_angle: float | None = None


@dataclass(frozen=True)
class Case:
    """One lure or test strip with the questions asked of it.

    Attributes
    ----------
    title : str
    water, material, parts, scenarios, numerics, tolerance, body, rig : see each class; parts
        and scenarios may be empty where there is a body
    length_unit : 'mm' or 'inch', unit of lengths in text output
    text : str, the case file as read, with the overrides appended as comment lines
    warnings : tuple of str, odd but possible values
    brief : tuple of Clause, what the maker wants
    seen : tuple of Seen, what the bait in hand did; ``file`` is where that bait stands then
    shop : Shop, how it is moulded and what that costs
    profile : Profile or None, measured values that stand in for defaults
    """

    title: str
    water: WaterInput
    material: MaterialInput
    parts: tuple[Part, ...]
    scenarios: tuple[Scenario, ...]
    numerics: Numerics = field(default_factory=Numerics)
    tolerance: Tolerance = field(default_factory=Tolerance)
    length_unit: Literal["mm", "inch"] = "mm"
    text: str = ""
    warnings: tuple[str, ...] = ()
    body: BodyInput | None = None
    rig: RigInput | None = None
    brief: tuple[Clause, ...] = ()
    seen: tuple[Seen, ...] = ()
    file: str = ""
    shop: Shop = field(default_factory=Shop)
    profile: Profile | None = None
