"""The lure as the air meets it: drag areas by direction, their centres, the flight attitude.

Everything stands on the lure's own sizes. Pieces do not shield each other. Screening: drag of
slender bodies by section tables and end factors, soft parts bent over by the stream.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simsoft.case.model import BodyInput, HookInput, WeightInput
from simsoft.core.arrays import Array
from simsoft.geometry import body as shape_body
from simsoft.geometry.bare_wire import bare_wire
from simsoft.geometry.hook import sphere_radius
from simsoft.geometry.soft_lengths import stiff_length
from simsoft.geometry.stations import along
from simsoft.hydrodynamics.correlations.bluff import PLATE, folded_share, section_drag_coefficient
from simsoft.hydrodynamics.correlations.drag import cylinder_end_factor, sphere_drag
from simsoft.lure.assembly import MassProperties, Values, Whole, mass_properties
from simsoft.lure.components import EXPOSED, centre_of, strip_piece, weight_piece
from simsoft.lure.parts import Specimen, Strip
from simsoft.lure.rod_model import build_rod
from simsoft.properties.water import Water

ROUND = 1.2  # C_d of a long round bar, Reynolds numbers 1e4 to 2e5 (White, Table 7.2)
STABLE_MARGIN = 0.05  # of the length: mass so far ahead of the drag flies first; common practice,
LEVEL_MARGIN = 0.02  # mass so close to the drag has no reason to turn; no source for either
END_LENGTH = 0.25  # of the length, what counts as an end
ATTITUDES = ("end-on", "broadside", "tumbling")
SMALLEST_REYNOLDS = 10.0


@dataclass(frozen=True)
class AirFlow:
    """The air at the speed [m/s] at which soft parts bend over and Reynolds numbers are taken."""

    density: float
    viscosity: float
    speed: float

    @property
    def pressure(self) -> float:
        """Return the dynamic pressure [Pa]."""
        return 0.5 * self.density * self.speed**2


@dataclass(frozen=True)
class AirPiece:
    """One piece in the stream.

    Attributes
    ----------
    name : str
    drag_area : array (3,) [m^2], drag over dynamic pressure in a stream along x, y and z
    centre : array (2,) [m], x where the drag of the streams along y and z acts
    """

    name: str
    drag_area: Array
    centre: Array


@dataclass(frozen=True)
class Airborne:
    """A lure ready to be thrown.

    Attributes
    ----------
    mass : float [kg]
    end_on, broadside, tumbling : float [m^2], drag areas of the three attitudes
    margin : float [-], centre of mass ahead of the centre of broadside drag, over the length
    head_share, tail_share : float [-], mass of the weights at either end over the whole
    needed_share : float [-], of them that holds that end ahead
    pieces : tuple of AirPiece
    """

    mass: float
    end_on: float
    broadside: float
    tumbling: float
    margin: float
    head_share: float
    tail_share: float
    needed_share: float
    pieces: tuple[AirPiece, ...]

    def drag_area(self, attitude: str) -> float:
        """Return the drag area [m^2] of an attitude."""
        return dict(zip(ATTITUDES, (self.end_on, self.broadside, self.tumbling), strict=True))[
            attitude
        ]


@dataclass(frozen=True)
class StripSeen:
    """A strip as air coefficients need it; solved once for every set of sizes.

    Attributes
    ----------
    name : str
    bluff : array (3,) [m^2], drag area of the moulded part seen along x, y and z
    wetted : float [m^2], both faces, paddle included
    give : float [m/N], length times the sum of 1/(E I) over the elements
    root, middle : float [m], x of the clamp and of the centre
    """

    name: str
    bluff: Array
    wetted: float
    give: float
    root: float
    middle: float


@dataclass(frozen=True)
class InAir:
    """Masses and sizes of a lure at one set of input values."""

    weighed: MassProperties
    strips: tuple[StripSeen, ...]


def seen(whole: Whole, values: Values) -> InAir:
    """Return masses and sizes of a lure.

    Parameters
    ----------
    whole : Whole
    values : dict, input values of the body and of each strip
    """
    strips = tuple(strip_seen(strip, values[strip.name], whole.water) for strip in whole.strips)
    return InAir(mass_properties(whole, values), strips)


def strip_seen(strip: Strip, values: dict[str, float], water: Water) -> StripSeen:
    """Return a strip as air coefficients need it; ``water`` only fills its rod."""
    piece = strip_piece(strip, water, values)
    part = strip.part
    rod = build_rod(Specimen(strip, water, values, gravity=False))
    width = along(part.width, np.linspace(0.0, 1.0, 65))
    return StripSeen(
        name=strip.name,
        bluff=(ROUND if part.section == "ellipse" else PLATE) * piece.areas,
        wetted=2.0 * float(width.mean()) * part.length + 2.0 * rod.paddle.area,
        give=part.length * float(np.sum(1.0 / (values["modulus"] * rod.stiffness[:, 1]))),
        root=part.position[0],
        middle=float(centre_of(piece.displaced)[0]),
    )


def airborne(
    whole: Whole, values: Values, sizes: InAir, coefficients: dict[str, float], flow: AirFlow
) -> Airborne:
    """Return a lure as the air meets it.

    Parameters
    ----------
    whole : Whole
    values : dict, input values of the body and of each strip
    sizes : Seen, of the same values
    coefficients : dict of float, see coefficients.air_coefficients
    flow : Flow
    """
    pieces = _pieces(whole, values, sizes, coefficients, flow)
    total = np.sum([piece.drag_area for piece in pieces], axis=0)
    across = sum(float(piece.drag_area[1:] @ piece.centre) for piece in pieces)
    found = sizes.weighed
    area = float(total[1:].sum())
    centre = across / area if area > 0.0 else float(found.centre_of_mass[0])
    centre += coefficients["air_centre"] * found.length
    share = coefficients["air_tumbling"]
    head, tail = _end_shares(whole, found)
    return Airborne(
        mass=found.mass,
        end_on=float(total[0]),
        broadside=float(total[1:].max()),
        tumbling=share * float(total[1:].mean()) + (1.0 - share) * float(total[0]),
        margin=(centre - float(found.centre_of_mass[0])) / found.length,
        head_share=head,
        tail_share=tail,
        needed_share=coefficients["air_end_share"],
        pieces=tuple(pieces),
    )


def flight_attitude(lure: Airborne) -> tuple[str, str]:
    """Return the attitude a lure is expected to fly in, and why.

    Returns
    -------
    attitude : 'end-on', 'broadside' or 'tumbling'
    why : str
    """
    margin = 100.0 * lure.margin
    where = f"mass {abs(margin):.0f} % of the length {'ahead of' if margin >= 0 else 'behind'} "
    where += "the drag"
    for sign, share, end in ((1.0, lure.head_share, "head"), (-1.0, lure.tail_share, "tail")):
        if sign * lure.margin >= STABLE_MARGIN:
            held = f"{100.0 * share:.0f} % of it in the {end}"
            if share >= lure.needed_share:
                return "end-on", f"flies {end} first: {where}, {held}"
            return "tumbling", f"tumbles: {where}, but only {held}"
    heavy = max(lure.head_share, lure.tail_share) >= lure.needed_share
    if abs(lure.margin) < LEVEL_MARGIN and not heavy:
        return "broadside", f"flies broadside: {where}, nothing turns it"
    return "tumbling", f"tumbles: {where}, too little to hold it straight"


def _end_shares(whole: Whole, found: MassProperties) -> tuple[float, float]:
    """Return the mass of the weights in the first and in the last quarter over the whole."""
    end = END_LENGTH * found.length
    head = sum(w.mass for w in whole.rig.weights if w.position[0] <= end)
    tail = sum(w.mass for w in whole.rig.weights if w.position[0] >= found.length - end)
    return head / found.mass, tail / found.mass


def _pieces(
    whole: Whole, values: Values, sizes: InAir, coefficients: dict[str, float], flow: AirFlow
) -> list[AirPiece]:
    pieces = []
    if whole.body is not None:
        shift = values["body"]["thickness"]
        pieces.append(body_in_air(whole.body, whole.rig.hook, shift, coefficients))
    trailing = coefficients["air_trailing"]
    pieces += [strip_in_air(strip, trailing, flow) for strip in sizes.strips]
    if whole.rig.hook is not None:
        pieces.append(_hook(whole.rig.hook, whole.body))
    exposed = [weight for weight in whole.rig.weights if weight.kind in EXPOSED]
    return pieces + [_weight(weight, flow) for weight in exposed]


def body_in_air(
    body: BodyInput, hook: HookInput | None, shift: float, coefficients: dict[str, float]
) -> AirPiece:
    """Return a body in the stream.

    End on, the soft length behind the hook does not stay straight: it trails like a limp strip.

    Parameters
    ----------
    body : BodyInput
    hook : HookInput or None
    shift : float [m], added to height and width
    coefficients : dict of float
    """
    stations = shape_body.body_stations(body, shift)
    end_on = coefficients["air_end_on"] * float(np.max(stations.outline))
    end_on += coefficients["air_friction"] * shape_body.wetted_area(stations)
    soft = stations.x > stiff_length(body, hook)[1]
    end_on += coefficients["air_trailing"] * float(stations.perimeter[soft].sum() * stations.step)
    across, centre = [], []
    for facing, deep in ((stations.height, stations.width), (stations.width, stations.height)):
        if body.cross_drag is None:
            local = section_drag_coefficient(body.section, deep, facing)
            slender = max(1.0, body.length / float(np.mean(facing)))
            local = coefficients["air_broadside"] * float(cylinder_end_factor(slender)) * local
        else:
            local = np.full_like(facing, body.cross_drag)
        line = local * facing * stations.step
        across.append(float(line.sum()))
        weight = line if across[-1] > 0.0 else facing
        centre.append(float(weight @ stations.x) / float(weight.sum()))
    areas = (body.drag_factor or 1.0) * np.array([end_on, *across])
    return AirPiece("body", areas, np.array(centre))


def strip_in_air(strip: StripSeen, trailing: float, flow: AirFlow) -> AirPiece:
    """Return a soft part in the stream: stiff, bent over, or trailing limp.

    The drag of the moulded part falls with its bending (``folded_share``) but not below that
    of a limp strip on its wetted faces. What has bent over pulls at its root.

    Parameters
    ----------
    strip : StripSeen
    trailing : float [-], drag coefficient of a limp strip on both faces
    flow : Flow
    """
    share = folded_share(flow.pressure * strip.bluff * strip.give)
    return AirPiece(
        strip.name,
        np.maximum(share * strip.bluff, trailing * strip.wetted),
        strip.root + share[1:] * (strip.middle - strip.root),
    )


def _hook(hook: HookInput, body: BodyInput | None) -> AirPiece:
    """Return the bare wire of a hook: round bars, seen from each side."""
    wire = bare_wire(hook, body)
    pieces = wire.end - wire.start
    length = np.linalg.norm(pieces, axis=1)
    middle = 0.5 * (wire.start + wire.end)[:, 0]
    seen = np.sqrt(np.clip(length[:, None] ** 2 - pieces**2, 0.0, None))
    areas = 2.0 * wire.radius * ROUND * seen
    across = areas.sum(axis=0)
    centre = [
        float(areas[:, i] @ middle) / float(across[i]) if across[i] > 0.0 else 0.0 for i in (1, 2)
    ]
    return AirPiece("hook", across, np.array(centre))


def _weight(weight: WeightInput, flow: AirFlow) -> AirPiece:
    """Return a weight that stands in the stream, a sphere."""
    piece = weight_piece(weight, flow.density)
    diameter = 2.0 * sphere_radius(float(piece.displaced[3, 3]))
    reynolds = max(flow.density * flow.speed * diameter / flow.viscosity, SMALLEST_REYNOLDS)
    return AirPiece(
        weight.name, float(sphere_drag(reynolds)) * piece.areas, np.full(2, weight.position[0])
    )
