"""Plate arrays: bilinear quadrilaterals with a free director, and what is fixed about them.

The unknowns of a node are its place r and its director d, the unit vector through the
thickness; both are plain vectors, so that any rotation is exact and nothing is ever
composed. Strains about the moulded shape are products of two unknowns:

    e_ab = (r,a . r,b)/2,   k_ab = r,a . d,b,   g_a = r,a . d,   e_33 = (d . d - 1)/2,

with the transverse shear g tied to the middles of the element sides, which keeps thin plates
from locking (Bathe & Dvorkin 1985, Int. J. Numer. Meth. Eng. 21:367); the membrane shear is
taken at the element's middle and the stretch of the director at the nodes for the same reason.
The law is plane stress, E/(1 - nu^2), with 5/6 of the shear stiffness (Reissner 1945, J. Appl.
Mech. 12:A69); the director's stretch meets E and carries no Poisson's ratio.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from scipy.sparse import coo_matrix, csr_matrix

from simsoft.core.arrays import Array, Integers

SHEAR_SHARE = 5.0 / 6.0
GAUSS = 1.0 / np.sqrt(3.0)
CORNERS = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
POINTS = np.vstack([GAUSS * CORNERS, np.zeros((1, 2))])  # four Gauss points and the middle
SIDES = np.array([[0, 1], [3, 2], [0, 3], [1, 2]])  # two along xi, two along eta
UNKNOWNS = 6  # of a node: place, director
CACHED_PLACES = 16  # of meshes


class Stepped(NamedTuple):
    """A thickness with steps inside the elements, as means over elements and their quarters.

    Attributes
    ----------
    thickness, cube : array (E, 4) [m], [m^3], means over the quarters, in the order of the Gauss
        points; the cube stands in bending along the steps
    across : array (E,) [m^3], what stands for the cube in bending across the steps
    twist : array (E, 4) [m^3], what stands for the cube in twist
    normal : array (E, 2) [-], unit vectors on the planform across the steps
    """

    thickness: Array
    cube: Array
    across: Array
    twist: Array
    normal: Array


class Plate(NamedTuple):
    """A plate for unit modulus.

    Attributes
    ----------
    quads : int array (E, 4), nodes of the elements, counter-clockwise on the planform
    slope : array (E, 5, 4, 2) [1/m], shape function derivatives at the Gauss points, middle
    weight : array (E, 4) [m^2], area of the Gauss points
    thickness : array (E, 4) [m], at the Gauss points
    cube : array (E, 4) [m^3], its cube, the mean one where it is stepped
    bend : array (E, 4, 3, 3) [m^3], moments by curvatures for unit modulus
    law : array (3, 3) [-], plane stress for unit modulus
    shear : array (E, 4, 4) [m^3], stiffness between the shears of the four sides
    director : array (n,) [m^3], stiffness of the director's stretch
    natural : array (E, 4, 6) [-, 1/m], stress-free strain: e11 e22 2e12 k11 k22 2k12
    natural_side : array (E, 4) [m], stress-free shear of the sides
    """

    quads: Integers
    slope: Array
    weight: Array
    thickness: Array
    cube: Array
    bend: Array
    law: Array
    shear: Array
    director: Array
    natural: Array
    natural_side: Array


def shape_functions(points: Array) -> tuple[Array, Array]:
    """Return values (P, 4) and natural derivatives (P, 4, 2) at points (P, 2) in [-1, 1]^2."""
    along = 1.0 + points[:, None, 0] * CORNERS[:, 0]
    across = 1.0 + points[:, None, 1] * CORNERS[:, 1]
    value = 0.25 * along * across
    slope = 0.25 * np.stack([CORNERS[:, 0] * across, CORNERS[:, 1] * along], axis=2)
    return value, slope


def make_plate(
    plan: Array,
    quads: Integers,
    thickness: Array,
    poisson_ratio: float,
    stepped: Stepped | None = None,
) -> Plate:
    """Return the flat plate of a planform, stress-free when flat.

    Parameters
    ----------
    plan : array (n, 2) [m], nodes in the planform's own plane
    quads : int array (E, 4), counter-clockwise
    thickness : array (n,) [m], at the nodes
    poisson_ratio : float [-]
    stepped : Stepped, in place of ``thickness`` where it has steps

    Raises
    ------
    ValueError
        If an element is turned inside out.
    """
    value, natural_slope = shape_functions(POINTS)
    corner = plan[quads]
    jacobian = np.einsum("pai,eax->epix", natural_slope, corner)
    area = np.linalg.det(jacobian)
    if not np.all(area > 0.0):
        raise ValueError(f"element {int(np.argmin(area.min(axis=1)))} is turned inside out")
    inverse = np.linalg.inv(jacobian)
    slope = np.einsum("epxi,pai->epax", inverse, natural_slope)
    nu = poisson_ratio
    law = np.array([[1.0, nu, 0.0], [nu, 1.0, 0.0], [0.0, 0.0, 0.5 * (1.0 - nu)]]) / (1.0 - nu**2)
    local = thickness[quads] @ value[:4].T
    cube = local**3
    bend = cube[..., None, None] * (law / 12.0)
    if stepped is not None:
        local, cube = stepped.thickness, stepped.cube
        bend = _stepped_law(stepped, nu)
    weight = area[:, :4]
    tied = _tied_shear(inverse[:, :4])
    line = SHEAR_SHARE / (2.0 * (1.0 + nu)) * local * weight
    shear = np.einsum("epxk,ep,epxl->ekl", tied, line, tied)
    director = np.zeros(len(plan))
    np.add.at(director, quads, np.einsum("ep,ep,pa->ea", weight, local, value[:4]))
    return Plate(
        quads=np.ascontiguousarray(quads, dtype=np.int64),
        slope=np.ascontiguousarray(slope),
        weight=np.ascontiguousarray(weight),
        thickness=np.ascontiguousarray(local),
        cube=np.ascontiguousarray(cube),
        bend=np.ascontiguousarray(bend),
        law=law,
        shear=np.ascontiguousarray(shear),
        director=director,
        natural=np.zeros((len(quads), 4, 6)) + np.array([0.5, 0.5, 0.0, 0.0, 0.0, 0.0]),
        natural_side=np.zeros((len(quads), 4)),
    )


def _stepped_law(stepped: Stepped, nu: float) -> Array:
    """Return the bending laws (E, 4, 3, 3) [m^3] for unit modulus of elements with steps.

    As of a layered plate: across the steps the moment is the same everywhere and the curvatures
    add up, along them it is the other way round.
    """
    local = np.zeros((*stepped.cube.shape, 3, 3))
    across = stepped.across[:, None]
    local[..., 0, 0] = across
    local[..., 0, 1] = local[..., 1, 0] = nu * across
    local[..., 1, 1] = (1.0 - nu**2) * stepped.cube + nu**2 * across
    local[..., 2, 2] = 0.5 * (1.0 - nu) * stepped.twist
    c, s = stepped.normal.T
    turn = np.array(
        [[c * c, s * s, c * s], [s * s, c * c, -c * s], [-2 * c * s, 2 * c * s, c * c - s * s]]
    )
    return np.asarray(np.einsum("kie,epkl,lje->epij", turn, local, turn) / (12.0 * (1.0 - nu**2)))


def _tied_shear(inverse: Array) -> Array:
    """Return the map (E, 4, 2, 4) from the shears of the sides to those at the Gauss points."""
    xi, eta = POINTS[:4, 0], POINTS[:4, 1]
    covariant = np.zeros((4, 2, 4))
    covariant[:, 0, 0], covariant[:, 0, 1] = 0.5 * (1.0 - eta), 0.5 * (1.0 + eta)
    covariant[:, 1, 2], covariant[:, 1, 3] = 0.5 * (1.0 - xi), 0.5 * (1.0 + xi)
    return np.asarray(np.einsum("epxi,pik->epxk", inverse, covariant))


def strains(plate: Plate, state: Array) -> tuple[Array, Array]:
    """Return the strains (E, 4, 6) and shears of the sides (E, 4) of a state (n, 6).

    Taken as ``natural`` and ``natural_side`` they make that state the stress-free one.
    """
    place, director = state[plate.quads, :3], state[plate.quads, 3:]
    r = np.einsum("epax,eai->epxi", plate.slope, place)
    d = np.einsum("epax,eai->epxi", plate.slope, director)
    found = np.empty((len(plate.quads), 4, 6))
    found[..., 0] = 0.5 * (r[:, :4, 0] ** 2).sum(axis=2)
    found[..., 1] = 0.5 * (r[:, :4, 1] ** 2).sum(axis=2)
    found[..., 2] = (r[:, 4, 0] * r[:, 4, 1]).sum(axis=1)[:, None]
    found[..., 3] = (r[:, :4, 0] * d[:, :4, 0]).sum(axis=2)
    found[..., 4] = (r[:, :4, 1] * d[:, :4, 1]).sum(axis=2)
    found[..., 5] = (r[:, :4, 0] * d[:, :4, 1] + r[:, :4, 1] * d[:, :4, 0]).sum(axis=2)
    first, last = SIDES[:, 0], SIDES[:, 1]
    chord = place[:, last] - place[:, first]
    side = 0.25 * (chord * (director[:, first] + director[:, last])).sum(axis=2)
    return found, side


def moulded_plate(plate: Plate, state: Array) -> Plate:
    """Return the plate with a state (n, 6) as its stress-free shape."""
    natural, side = strains(plate, state)
    return plate._replace(natural=natural, natural_side=side)


def relaxed_plate(plate: Plate, state: Array, share: float) -> Plate:
    """Return the plate whose stress in a state (n, 6) is ``share`` of what it was.

    A stiffness higher by 1/share then leaves the state's forces as they are: quick motion
    about a long-held shape meets the dynamic modulus, the shape itself the resting one.
    """
    held, side = strains(plate, state)
    return plate._replace(
        natural=held - share * (held - plate.natural),
        natural_side=side - share * (side - plate.natural_side),
    )


def mass_matrix(plate: Plate, nodes: int, density: float) -> csr_matrix:
    """Return the consistent mass (6 n, 6 n) [kg, kg m^2] of a density [kg/m^3]."""
    value = shape_functions(POINTS[:4])[0]
    line = density * plate.weight * plate.thickness
    place = np.einsum("ep,pa,pb->eab", line, value, value)
    turn = np.einsum("ep,pa,pb->eab", density * plate.weight * plate.cube / 12.0, value, value)
    block = np.zeros((len(plate.quads), 4, 6, 4, 6))
    for i in range(3):
        block[:, :, i, :, i] = place
        block[:, :, 3 + i, :, 3 + i] = turn
    return global_matrix(plate, block.reshape(-1, 24, 24), np.zeros((nodes, 3, 3)))


def nodal_volume(plate: Plate, nodes: int) -> Array:
    """Return the volume [m^3] that belongs to each node, array (n,)."""
    value = shape_functions(POINTS[:4])[0]
    result = np.zeros(nodes)
    np.add.at(result, plate.quads, np.einsum("ep,pa->ea", plate.weight * plate.thickness, value))
    return result


def unknowns_of(quads: Integers) -> Integers:
    """Return the unknowns (E, 24) of every element."""
    return (UNKNOWNS * quads[:, :, None] + np.arange(UNKNOWNS)).reshape(len(quads), 24)


class Assembly(NamedTuple):
    """Where the entries of element and director matrices go in the matrix of all unknowns.

    Attributes
    ----------
    order : int array, entries by row and column
    slot : int array, number in the sparse matrix of each of these
    columns, rows : int arrays, of the sparse matrix, row-compressed
    free : int array, entries of the sparse matrix between free unknowns
    free_columns, free_rows : the same of the matrix between these
    """

    order: Integers
    slot: Integers
    columns: Integers
    rows: Integers
    free: Integers
    free_columns: Integers
    free_rows: Integers


def global_matrix(plate: Plate, elements: Array, directors: Array) -> csr_matrix:
    """Return the matrix (6 n, 6 n) of element (E, 24, 24) and director (n, 3, 3) matrices."""
    nodes = len(directors)
    places = _places(plate.quads.tobytes(), nodes, b"")
    size = UNKNOWNS * nodes
    return _compressed(_values(places, elements, directors), places.columns, places.rows, size)


def free_matrix(plate: Plate, elements: Array, directors: Array, free: Integers) -> csr_matrix:
    """Return ``global_matrix`` between the unknowns ``free`` (m,) alone."""
    places = _places(plate.quads.tobytes(), len(directors), free.tobytes())
    values = _values(places, elements, directors)[places.free]
    return _compressed(values, places.free_columns, places.free_rows, len(free))


def _values(places: Assembly, elements: Array, directors: Array) -> Array:
    """Return the entries of the sparse matrix, those of one place summed."""
    each = np.concatenate([elements.ravel(), directors.ravel()])[places.order]
    return np.asarray(np.bincount(places.slot, each, minlength=len(places.columns)))


def _compressed(values: Array, columns: Integers, rows: Integers, size: int) -> csr_matrix:
    found = csr_matrix((values, columns, rows), shape=(size, size))
    found.has_canonical_format = True
    return found


@lru_cache(maxsize=CACHED_PLACES)  # a plate has one mesh, and thousands of matrices on it
def _places(quads: bytes, nodes: int, free: bytes) -> Assembly:
    """Return the places on a mesh; ``free`` may be empty where no matrix between them is made."""
    own = unknowns_of(np.frombuffer(quads, dtype=np.int64).reshape(-1, 4))
    shape = (len(own), 24, 24)
    turn = UNKNOWNS * np.arange(nodes)[:, None] + np.arange(3, 6)
    rows = np.concatenate(
        [
            np.broadcast_to(own[:, :, None], shape).ravel(),
            np.broadcast_to(turn[:, :, None], (nodes, 3, 3)).ravel(),
        ]
    )
    columns = np.concatenate(
        [
            np.broadcast_to(own[:, None, :], shape).ravel(),
            np.broadcast_to(turn[:, None, :], (nodes, 3, 3)).ravel(),
        ]
    )
    size = UNKNOWNS * nodes
    # entries of one place are summed in the order in which SciPy sorts them
    numbered = coo_matrix((np.arange(len(rows), dtype=float), (rows, columns)), shape=(size, size))
    numbered.has_canonical_format = True
    sorted_entries = numbered.tocsr()
    sorted_entries.has_canonical_format = sorted_entries.has_sorted_indices = False
    sorted_entries.sort_indices()
    order = sorted_entries.data.astype(np.int64)
    row, column = rows[order], columns[order]
    first = np.append(True, (np.diff(row) != 0) | (np.diff(column) != 0))
    slot = np.cumsum(first) - 1
    begins = np.append(0, np.cumsum(np.bincount(row[first], minlength=size)))
    kept = csr_matrix(
        (np.arange(int(first.sum()), dtype=float), column[first], begins), shape=(size, size)
    )
    among = np.frombuffer(free, dtype=np.int64)
    part = kept[among][:, among]
    return Assembly(
        order, slot, kept.indices, kept.indptr, part.data.astype(np.int64), part.indices,
        part.indptr,
    )  # fmt: skip
