"""Records of the whole lure: what it weighs and displaces, with bands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from simsoft.core.arrays import Array
from simsoft.lure.assembly import MassProperties, Whole, mass_properties, moved_values
from simsoft.lure.parts import GRAVITY
from simsoft.results.record import Record

MOVED = ("density", "thickness")  # inputs that a scale would feel
UPPER = ((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2))
ORDER = "tensor components xx, yy, zz, xy, xz, yz"
BANDED = "; band: density and thickness of all pieces together, moved one at a time"
GEOMETRY = "geometry in the moulded shape"
STRIPS = "strip theory, Lamb's spheroid along the body, pieces apart"


def whole_records(whole: Whole, *, bands: bool = True) -> list[Record]:
    """Return the records of the whole lure (part "") and of its pieces (scenario "").

    Parameters
    ----------
    whole : Whole
    bands : bool, False leaves low and high out

    Returns
    -------
    list of Record
        Mass, volume, centres from the nose, net weight in water (positive sinks), inertia and
        added mass about the centre of mass, projected areas, overall length; mass, volume and
        centre of mass of each piece.
    """
    central = mass_properties(whole)
    names = MOVED if bands else ()
    moved = [mass_properties(whole, end) for name in names for end in moved_values(whole, name)]
    runs = [tuple(_quantities(whole, found)) for found in (central, *moved)]
    records = []
    for column in zip(*runs, strict=True):
        part, quantity, value, unit, basis = column[0]
        low = high = None
        if bands:
            low, high = map(_plain, moved_ends(value, [run[2] for run in column[1:]]))
            basis += BANDED
        records.append(Record("", part, quantity, _plain(value), low, high, unit, basis))
    return records


def moved_ends(value: Array, moved: Sequence[Array]) -> tuple[Array, Array]:
    """Return low and high ends of a value from moved runs, two for each input.

    The changes that single inputs make downward, and those they make upward, add as the root
    of the sum of their squares; inputs are taken as independent. Vectors go by component.

    Parameters
    ----------
    value : array, any shape
    moved : sequence of arrays of that shape, low and high end of each input in turn
    """
    down, up = np.zeros_like(value), np.zeros_like(value)
    for low, high in zip(moved[::2], moved[1::2], strict=True):
        changes = np.stack([np.zeros_like(value), low - value, high - value])
        down, up = np.hypot(down, changes.min(axis=0)), np.hypot(up, changes.max(axis=0))
    return value - down, value + up


def _plain(value: Array) -> float | tuple[float, ...]:
    return float(value) if value.ndim == 0 else tuple(float(item) for item in value)


def _quantities(whole: Whole, found: MassProperties) -> Iterator[tuple[str, str, Array, str, str]]:
    """Yield part, quantity, value, unit and basis of every record."""
    net = (found.mass - whole.water.density * found.volume) * GRAVITY
    turning, coupling, moving = (
        found.added_mass[:3, :3],
        found.added_mass[3:, :3],
        found.added_mass[3:, 3:],
    )
    rows = (
        ("mass", found.mass, "kg", GEOMETRY),
        ("volume", found.volume, "m^3", GEOMETRY),
        ("net_weight", net, "N", "mass less displaced water, positive sinks"),
        ("centre_of_mass", found.centre_of_mass, "m", f"{GEOMETRY}, from the nose"),
        ("centre_of_buoyancy", found.centre_of_buoyancy, "m", f"{GEOMETRY}, from the nose"),
        ("length", found.length, "m", "body and parts along x"),
        ("projected_area", found.projected_areas, "m^2", "seen along x, y, z; nothing hides"),
        ("inertia", _upper(found.inertia), "kg m^2", f"{ORDER} about the centre of mass"),
        ("added_mass", _upper(moving), "kg", f"{ORDER}; {STRIPS}"),
        (
            "added_inertia",
            _upper(turning),
            "kg m^2",
            f"{ORDER} about the centre of mass; {STRIPS}",
        ),
        (
            "added_coupling",
            coupling.ravel(),
            "kg m",
            f"force x, y, z (rows) from turning about x, y, z through the centre of mass; {STRIPS}",
        ),
    )
    for quantity, value, unit, basis in rows:
        yield "", quantity, np.asarray(value), unit, basis
    for piece in found.parts:
        yield piece.name, "mass", np.asarray(piece.mass), "kg", GEOMETRY
        yield piece.name, "volume", np.asarray(piece.volume), "m^3", GEOMETRY
        basis = f"{GEOMETRY}, from the nose"
        yield piece.name, "centre_of_mass", np.asarray(piece.centre), "m", basis


def _upper(matrix: Array) -> Array:
    return np.array([matrix[i, j] for i, j in UPPER])
