"""Scenario 'cast': how far a lure flies, in which attitude, in which wind, with bands."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from simsoft.case.model import BodyInput, CastInput, Scenario, Taper
from simsoft.core.arrays import Array
from simsoft.geometry.stations import along
from simsoft.lure.assembly import Values, Whole, central_values, moved_values
from simsoft.lure.in_air import ATTITUDES, Airborne, AirFlow, InAir, airborne, flight_attitude, seen
from simsoft.lure.records import moved_ends
from simsoft.properties.air import air
from simsoft.properties.coefficients import RELEASE_HEIGHT, air_coefficients, throw_inputs
from simsoft.results.record import Record
from simsoft.results.result import Flight
from simsoft.scenarios.cast.flight import Landings, Throws, fly, throw_path

WINDS = ((0.0, 0.0), (5.0, 0.0), (8.0, 0.0), (5.0, math.pi), (5.0, 0.5 * math.pi))
DIRECTIONS = (0.0, math.pi, 0.5 * math.pi)
ANGLES = np.radians(np.arange(5.0, 62.5, 2.5))  # tried for the best release
WEIGHED = ("density", "thickness")
ALONG = 1.0e-6  # [m/s] of wind across, below which nothing drifts
ROUND_STATIONS = 101
FLAT = 1.25  # largest height over width, or the other way, past which a body counts as flat
FLIGHT = (
    "point mass, quadratic drag, lure's own drag areas, screening; spool and line sag, left out, "
    "cost a further 5 to 20 % (common practice, no source)"
)
AREAS = "lure's own areas, section drag tables, pieces do not shield each other, screening"
RULE = "centre of mass against centre of broadside drag, mass in the end; screening rule"
MOVED = "; band: density, thickness, launch, line and drag coefficients moved one at a time"


@dataclass(frozen=True)
class MovedThrow:
    """A lure at one set of inputs, and its throw: the central one or one input moved.

    Attributes
    ----------
    lure, rounded : Airborne, as it is, and with a round body of the same sections' areas
    launch : dict of float, launch speed, launch angle and line drag
    """

    lure: Airborne
    rounded: Airborne | None
    launch: dict[str, float]

    @property
    def attitude(self) -> str:
        """Return the attitude the lure is expected to fly in."""
        return flight_attitude(self.lure)[0]


def cast(
    whole: Whole, scenario: Scenario, *, bands: bool = True
) -> tuple[list[Record], list[Flight]]:
    """Answer one cast of the whole lure.

    Parameters
    ----------
    whole : Whole
    scenario : Scenario
    bands : bool, False leaves low and high out

    Returns
    -------
    records : list of Record
        Attitude, static margin, drag areas, reach in every wind in the expected attitude and in
        all three, drift, time, best angle, what a flat body loses.
    flights : list of Flight, in the expected attitude
    """
    throw = scenario.cast
    variants = _variants(whole, throw, bands)
    winds = _winds(throw)
    table = [(v, attitude, wind) for v in variants for attitude in ATTITUDES for wind in winds]
    rounded = [(v, wind) for v in variants if v.rounded is not None for wind in winds]
    best = [(wind, angle) for wind in winds for angle in ANGLES]
    central = variants[0]
    throws = [_throw(v.lure.mass, v.lure.drag_area(a), v.launch, w) for v, a, w in table]
    throws += [
        _throw(v.rounded.mass, v.rounded.drag_area(v.attitude), v.launch, w)
        for v, w in rounded
        if v.rounded is not None
    ]
    reach = central.lure.drag_area(central.attitude)
    throws += [
        _throw(central.lure.mass, reach, {**central.launch, "launch_angle": angle}, wind)
        for wind, angle in best
    ]
    together = _together(throws, throw)
    landed = fly(together)
    shape = (len(variants), len(ATTITUDES), len(winds))
    split = np.split(landed.distance, np.cumsum([len(table), len(rounded)]))
    found = _Found(
        scenario.name, bands, variants, winds,
        {name: getattr(landed, name)[: len(table)].reshape(shape)
         for name in ("distance", "drift", "time", "speed")},
        split[1].reshape(-1, len(winds)),
        split[2].reshape(len(winds), len(ANGLES)),
    )  # fmt: skip
    return list(found.records()), _flights(scenario.name, together, landed, found)


def _winds(throw: CastInput) -> list[tuple[float, float]]:
    """Return speed [m/s] and bearing [rad] of every wind, still air once."""
    if not throw.wind and not throw.wind_from:
        return list(WINDS)
    speeds = throw.wind or (0.0, 5.0)
    bearings = throw.wind_from or DIRECTIONS
    pairs = [(speed, bearing if speed > 0.0 else 0.0) for speed in speeds for bearing in bearings]
    return list(dict.fromkeys(pairs))


def _variants(whole: Whole, throw: CastInput, bands: bool) -> list[MovedThrow]:
    """Return the central lure and throw, then each input at its low and its high end."""
    constants, launch = air_coefficients(whole.body), throw_inputs(throw)
    values = central_values(whole)
    fluid = air(throw.air_temperature, throw.air_pressure)
    flow = AirFlow(fluid.density, fluid.viscosity, launch["launch_speed"].value)
    sizes = seen(whole, values)

    def variant(moved: Values, at: InAir, **changed: float) -> MovedThrow:
        used = {name: changed.get(name, band.value) for name, band in constants.items()}
        hurled = {name: changed.get(name, band.value) for name, band in launch.items()}
        lure = airborne(whole, moved, at, used, flow)
        body = whole.body
        rounded = None
        if body is not None and is_flat(body):
            other = airborne(replace(whole, body=round_body(body)), moved, at, used, flow)
            rounded = other
        return MovedThrow(lure, rounded, hurled)

    result = [variant(values, sizes)]
    if not bands:
        return result
    for name in WEIGHED:
        for moved in moved_values(whole, name):
            result.append(variant(moved, seen(whole, moved)))
    for name, band in (constants | launch).items():
        for end in (band.low, band.high):
            result.append(variant(values, sizes, **{name: end}))
    return result


def is_flat(body: BodyInput) -> bool:
    """Return whether a body is much higher than wide, or the other way."""
    height, width = max(body.height.values), max(body.width.values)
    return max(height / width, width / height) > FLAT


def round_body(body: BodyInput) -> BodyInput:
    """Return a body with round sections of the same areas, so of the same mass."""
    stations = np.linspace(0.0, 1.0, ROUND_STATIONS)
    height, width = along(body.height, stations), along(body.width, stations)
    full = 4.0 / math.pi if body.section == "rectangle" else 1.0
    across = np.sqrt(full * height * width)
    size = Taper(tuple(map(float, stations)), tuple(map(float, across)))
    return replace(body, height=size, width=size, section="ellipse")


def _throw(
    mass: float, area: float, launch: dict[str, float], wind: tuple[float, float]
) -> tuple[float, ...]:
    speed, bearing = wind
    return (
        mass, area, launch["launch_speed"], launch["launch_angle"],
        -speed * math.cos(bearing), -speed * math.sin(bearing), launch["line_drag"],
    )  # fmt: skip


def _together(throws: Sequence[tuple[float, ...]], throw: CastInput) -> Throws:
    mass, area, speed, angle, wind_x, wind_y, line = np.array(throws).T
    height = RELEASE_HEIGHT if throw.release_height is None else throw.release_height
    thick = air(throw.air_temperature, throw.air_pressure).density
    return Throws(mass, area, speed, angle, height, wind_x, wind_y, thick, line)


@dataclass(frozen=True)
class _Found:
    """Everything that was thrown: arrays by variant, attitude and wind."""

    scenario: str
    bands: bool
    variants: list[MovedThrow]
    winds: list[tuple[float, float]]
    landed: dict[str, Array]
    rounded: Array
    angles: Array

    def records(self) -> Iterator[Record]:
        """Yield the records of a cast, the reach in the expected attitude first."""
        lures = [variant.lure for variant in self.variants]
        attitude, why = flight_attitude(lures[0])
        basis = f"{RULE}: {why}"
        yield Record(self.scenario, "", "flight_attitude", attitude, None, None, "", basis)
        others = sorted({v.attitude for v in self.variants[1:]} - {attitude})
        if others:
            basis = "attitudes found with an input at an end of its band"
            word = ", ".join(others)
            yield Record(self.scenario, "", "other_attitude", word, None, None, "", basis)
        yield self._record("static_margin", [v.margin for v in lures], "", RULE)
        for name in ATTITUDES:
            areas = [v.drag_area(name) for v in lures]
            yield self._record("drag_area", areas, "m^2", AREAS, attitude=name)
            if min(areas) > 0.0:
                heavy = [v.mass / area for v, area in zip(lures, areas, strict=True)]
                basis = "mass over drag area"
                yield self._record("ballistic_coefficient", heavy, "kg/m^2", basis, attitude=name)
        for j, wind in enumerate(self.winds):
            yield from self._in_wind(j, wind)

    def _in_wind(self, j: int, wind: tuple[float, float]) -> Iterator[Record]:
        at: dict[str, float | int | str] = {
            "wind": wind[0],
            "wind_from": round(math.degrees(wind[1]), 9),
        }
        rows = [ATTITUDES.index(v.attitude) for v in self.variants]
        numbers = np.arange(len(rows))
        for quantity, key, unit in (
            ("cast_distance", "distance", "m"),
            ("cast_drift", "drift", "m"),
            ("flight_time", "time", "s"),
        ):
            if quantity == "cast_drift" and abs(math.sin(wind[1]) * wind[0]) < ALONG:
                continue
            yield self._record(quantity, self.landed[key][numbers, rows, j], unit, FLIGHT, **at)
        for i, name in enumerate(ATTITUDES):
            reach = self.landed["distance"][:, i, j]
            yield self._record("cast_distance", reach, "m", FLIGHT, **at, attitude=name)
        best = int(np.argmax(self.angles[j]))
        basis = f"{FLIGHT}; best of releases 2.5 deg apart, expected attitude"
        angle = float(np.degrees(ANGLES[best]))
        yield Record(
            self.scenario,
            "",
            "best_launch_angle",
            angle,
            angle - 2.5,
            angle + 2.5,
            "deg",
            basis,
            at,
        )
        if len(self.rounded):
            lost = self.rounded[:, j] - self.landed["distance"][numbers, rows, j]
            basis = (
                f"reach of a round body of the same mass less the lure's, same attitude; {FLIGHT}"
            )
            yield self._record("flat_loss", lost, "m", basis, **at)

    def _record(
        self, quantity: str, column: Sequence[float] | Array, unit: str, basis: str,
        **at: float | int | str,
    ) -> Record:  # fmt: skip
        value = float(column[0])
        low = high = None
        if self.bands:
            ends = [np.asarray(x, dtype=float) for x in column[1:]]
            low, high = map(float, moved_ends(np.asarray(value), ends))
            basis += MOVED
        return Record(self.scenario, "", quantity, value, low, high, unit, basis, at)


def _flights(name: str, throws: Throws, landed: Landings, found: _Found) -> list[Flight]:
    """Return the paths of the central lure in the expected attitude, one a wind."""
    attitude = found.variants[0].attitude
    first = ATTITUDES.index(attitude) * len(found.winds)
    return [
        Flight(name, attitude, speed, math.degrees(bearing), throw_path(throws, landed, first + j))
        for j, (speed, bearing) in enumerate(found.winds)
    ]
