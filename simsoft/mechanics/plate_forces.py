"""Forces, energy and tangents of the plate: compiled loops over elements, exact in rotation."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel, lean_kernel
from simsoft.mechanics.plate import SIDES, Plate

FIRST = SIDES[:, 0].copy()
LAST = SIDES[:, 1].copy()


class Room(NamedTuple):
    """Scratch arrays of one element; first what is at it now, second its rate.

    Attributes
    ----------
    nodal : array (2, 2, 4, 3), places and directors of its nodes
    point : array (2, 2, 2, 3), derivatives of places and of directors at a Gauss point
    middle : array (2, 2, 3), of places at the middle
    strain, stress : array (2, 6)
    side : array (2, 2, 4, 3), chords and summed directors of the sides
    """

    nodal: Array
    point: Array
    middle: Array
    strain: Array
    stress: Array
    side: Array


@kernel()
def make_room() -> Room:
    """Return scratch arrays."""
    return Room(
        np.empty((2, 2, 4, 3)),
        np.empty((2, 2, 2, 3)),
        np.empty((2, 2, 3)),
        np.empty((2, 6)),
        np.empty((2, 6)),
        np.empty((2, 2, 4, 3)),
    )


@lean_kernel()
def _gather(plate: Plate, k: int, state: Array, nodal: Array) -> None:
    """Write places and directors (2, 4, 3) of the nodes of element k."""
    for a in range(4):
        n = plate.quads[k, a]
        for i in range(3):
            nodal[0, a, i], nodal[1, a, i] = state[n, i], state[n, 3 + i]


@lean_kernel()
def _dot(a: Array, b: Array) -> float:
    return float(a[0] * b[0] + a[1] * b[1] + a[2] * b[2])


@lean_kernel()
def _slopes(slope: Array, nodal: Array, out: Array) -> None:
    """Write the two derivatives (2, 3) of nodal vectors (4, 3) with slopes (4, 2)."""
    a0, a1, a2, a3 = slope[0, 0], slope[1, 0], slope[2, 0], slope[3, 0]
    b0, b1, b2, b3 = slope[0, 1], slope[1, 1], slope[2, 1], slope[3, 1]
    for i in range(3):
        n0, n1, n2, n3 = nodal[0, i], nodal[1, i], nodal[2, i], nodal[3, i]
        out[0, i] = 0.0 + a0 * n0 + a1 * n1 + a2 * n2 + a3 * n3
        out[1, i] = 0.0 + b0 * n0 + b1 * n1 + b2 * n2 + b3 * n3


@lean_kernel()
def _strain(r: Array, d: Array, c: Array, out: Array) -> None:
    """Write the strains (6,) of derivatives at a point ``r, d`` and at the middle ``c``."""
    out[0] = 0.5 * _dot(r[0], r[0])
    out[1] = 0.5 * _dot(r[1], r[1])
    out[2] = _dot(c[0], c[1])
    out[3] = _dot(r[0], d[0])
    out[4] = _dot(r[1], d[1])
    out[5] = _dot(r[0], d[1]) + _dot(r[1], d[0])


@lean_kernel()
def _strain_rate(r: Array, d: Array, c: Array, vr: Array, vd: Array, vc: Array, out: Array) -> None:
    """Write the rates (6,) of the strains with the rates of the derivatives."""
    out[0] = _dot(r[0], vr[0])
    out[1] = _dot(r[1], vr[1])
    out[2] = _dot(c[0], vc[1]) + _dot(c[1], vc[0])
    out[3] = _dot(r[0], vd[0]) + _dot(vr[0], d[0])
    out[4] = _dot(r[1], vd[1]) + _dot(vr[1], d[1])
    out[5] = _dot(r[0], vd[1]) + _dot(vr[0], d[1]) + _dot(r[1], vd[0]) + _dot(vr[1], d[0])


@lean_kernel()
def _stress(plate: Plate, k: int, p: int, strain: Array, out: Array) -> None:
    """Write membrane force and moment (6,) per length at a point for unit modulus."""
    for i in range(3):
        pull, bend = 0.0, 0.0
        for j in range(3):
            pull += plate.law[i, j] * strain[j]
            bend += plate.bend[k, p, i, j] * strain[3 + j]
        out[i], out[3 + i] = plate.thickness[k, p] * pull, bend


@kernel()
def internal_forces(
    plate: Plate, state: Array, rate: Array, time: float, force: Array
) -> tuple[float, float]:
    """Write the internal forces (n, 6) for unit modulus; return energy and dissipated power.

    Parameters
    ----------
    plate : Plate
    state, rate : array (n, 6), places and directors and their rates
    time : float [s], Kelvin-Voigt time: stress = law (strain + time strain rate)
    force : array (n, 6), overwritten, per unit modulus: [m^2] on places, [m^3] on directors

    Returns
    -------
    energy, power : float, per unit modulus [m^3], [m^3/s]
    """
    force[:] = 0.0
    books = (0.0, 0.0)
    room = make_room()
    for k in range(plate.quads.shape[0]):
        books = _element_forces(plate, k, state, rate, time, room, books, force)
    return _director_forces(plate, state, rate, time, books, force)


@lean_kernel()
def _element_forces(
    plate: Plate,
    k: int,
    state: Array,
    rate: Array,
    time: float,
    room: Room,
    books: tuple[float, float],
    force: Array,
) -> tuple[float, float]:
    """Add the forces of element k; return energy and dissipated power ``books`` with its own."""
    energy, power = books
    nodal, speed = room.nodal[0], room.nodal[1]
    r, d, vr, vd = room.point[0, 0], room.point[0, 1], room.point[1, 0], room.point[1, 1]
    c, vc = room.middle[0], room.middle[1]
    e, er, s, sr = room.strain[0], room.strain[1], room.stress[0], room.stress[1]
    _gather(plate, k, state, nodal)
    _gather(plate, k, rate, speed)
    middle = plate.slope[k, 4]
    _slopes(middle, nodal[0], c)
    _slopes(middle, speed[0], vc)
    twist = 0.0
    for p in range(4):
        slope = plate.slope[k, p]
        _slopes(slope, nodal[0], r)
        _slopes(slope, nodal[1], d)
        _slopes(slope, speed[0], vr)
        _slopes(slope, speed[1], vd)
        _strain(r, d, c, e)
        _strain_rate(r, d, c, vr, vd, vc, er)
        for i in range(6):
            e[i] -= plate.natural[k, p, i]
        _stress(plate, k, p, e, s)
        _stress(plate, k, p, er, sr)
        w = plate.weight[k, p]
        for i in range(6):
            energy += 0.5 * w * s[i] * e[i]
            power += time * w * sr[i] * er[i]
            s[i] = w * (s[i] + time * sr[i])
        twist += s[2]
        for i in range(3):
            r0, r1, d0, d1 = r[0, i], r[1, i], d[0, i], d[1, i]
            pull0 = s[0] * r0 + s[3] * d0 + s[5] * d1
            pull1 = s[1] * r1 + s[4] * d1 + s[5] * d0
            turn0, turn1 = s[3] * r0 + s[5] * r1, s[4] * r1 + s[5] * r0
            for a in range(4):
                n, b0, b1 = plate.quads[k, a], slope[a, 0], slope[a, 1]
                force[n, i] += b0 * pull0 + b1 * pull1
                force[n, 3 + i] += b0 * turn0 + b1 * turn1
    for a in range(4):
        n = plate.quads[k, a]
        for i in range(3):
            force[n, i] += twist * (middle[a, 0] * c[1, i] + middle[a, 1] * c[0, i])
    stored, lost = _side_forces(plate, k, nodal, speed, time, room.side, force)
    return energy + stored, power + lost


@lean_kernel()
def _director_forces(
    plate: Plate,
    state: Array,
    rate: Array,
    time: float,
    books: tuple[float, float],
    force: Array,
) -> tuple[float, float]:
    """Add the forces that hold the directors' lengths; return ``books`` with their own."""
    energy, power = books
    for n in range(state.shape[0]):
        stiffness = plate.director[n]
        stretch = 0.5 * (_dot(state[n, 3:], state[n, 3:]) - 1.0)
        swell = _dot(state[n, 3:], rate[n, 3:])
        energy += 0.5 * stiffness * stretch**2
        power += time * stiffness * swell**2
        for i in range(3):
            force[n, 3 + i] += stiffness * (stretch + time * swell) * state[n, 3 + i]
    return energy, power


@lean_kernel()
def _sides(nodal: Array, chord: Array, mean: Array) -> None:
    """Write chords (4, 3) and summed directors (4, 3) of the sides of ``Room.nodal``."""
    for j in range(4):
        for i in range(3):
            chord[j, i] = nodal[0, LAST[j], i] - nodal[0, FIRST[j], i]
            mean[j, i] = nodal[1, LAST[j], i] + nodal[1, FIRST[j], i]


@lean_kernel()
def _side_forces(
    plate: Plate, k: int, nodal: Array, speed: Array, time: float, side: Array, force: Array
) -> tuple[float, float]:
    """Add the forces of the tied shear of element k; return its energy and power."""
    chord, mean, v_chord, v_mean = side[0, 0], side[0, 1], side[1, 0], side[1, 1]
    _sides(nodal, chord, mean)
    _sides(speed, v_chord, v_mean)
    energy = 0.0
    power = 0.0
    for j in range(4):
        held = 0.0
        moved = 0.0
        for m in range(4):
            gap = 0.25 * _dot(chord[m], mean[m]) - plate.natural_side[k, m]
            slip = 0.25 * (_dot(chord[m], v_mean[m]) + _dot(v_chord[m], mean[m]))
            held += plate.shear[k, j, m] * gap
            moved += plate.shear[k, j, m] * slip
        own = 0.25 * _dot(chord[j], mean[j]) - plate.natural_side[k, j]
        own_slip = 0.25 * (_dot(chord[j], v_mean[j]) + _dot(v_chord[j], mean[j]))
        energy += 0.5 * held * own
        power += time * moved * own_slip
        s = 0.25 * (held + time * moved)
        first, last = plate.quads[k, FIRST[j]], plate.quads[k, LAST[j]]
        for i in range(3):
            force[last, i] += s * mean[j, i]
            force[first, i] -= s * mean[j, i]
            force[last, 3 + i] += s * chord[j, i]
            force[first, 3 + i] += s * chord[j, i]
    return energy, power


@kernel()
def tangent(plate: Plate, state: Array, elastic: float, stressed: float) -> tuple[Array, Array]:
    """Return element (E, 24, 24) and director (n, 3, 3) tangents for unit modulus.

    ``elastic`` weighs the part of the law, ``stressed`` the part of the stress in the state:
    (1, 1) is the tangent stiffness, (time, 0) the damping of a Kelvin-Voigt time.
    """
    count = plate.quads.shape[0]
    result = np.zeros((count, 24, 24))
    room, rows, side_rows, gap = make_room(), np.zeros((2, 6, 24)), np.zeros((4, 24)), np.empty(4)
    for k in range(count):
        _gather(plate, k, state, room.nodal[0])
        _element_tangent(plate, k, room, rows, elastic, stressed, result[k])
        _side_tangent(plate, k, room, side_rows, gap, elastic, stressed, result[k])
    nodes = state.shape[0]
    directors = np.zeros((nodes, 3, 3))
    for n in range(nodes):
        d = state[n, 3:]
        stretch = 0.5 * (_dot(d, d) - 1.0)
        for i in range(3):
            directors[n, i, i] += stressed * plate.director[n] * stretch
            for j in range(3):
                directors[n, i, j] += elastic * plate.director[n] * d[i] * d[j]
    return result, directors


@lean_kernel()
def _element_tangent(
    plate: Plate, k: int, room: Room, rows: Array, elastic: float, stressed: float, out: Array
) -> None:
    """Add membrane and bending of element k to its tangent (24, 24); ``rows`` (2, 6, 24)."""
    r, d, c, nodal = room.point[0, 0], room.point[0, 1], room.middle[0], room.nodal[0]
    e, s = room.strain[0], room.stress[0]
    row, drive = rows[0], rows[1]
    middle = plate.slope[k, 4]
    _slopes(middle, nodal[0], c)
    for p in range(4):
        slope = plate.slope[k, p]
        _slopes(slope, nodal[0], r)
        _slopes(slope, nodal[1], d)
        _strain(r, d, c, e)
        for i in range(6):
            e[i] -= plate.natural[k, p, i]
        _stress(plate, k, p, e, s)
        w = plate.weight[k, p]
        _strain_rows(slope, middle, r, d, c, row)
        for j in range(24):
            for i in range(3):
                pull, bend = 0.0, 0.0
                for m in range(3):
                    pull += plate.law[i, m] * row[m, j]
                    bend += plate.bend[k, p, i, m] * row[3 + m, j]
                drive[i, j] = elastic * w * plate.thickness[k, p] * pull
                drive[3 + i, j] = elastic * w * bend
        for i in range(24):
            a0, a1, a2, a3, a4, a5 = (
                row[0, i],
                row[1, i],
                row[2, i],
                row[3, i],
                row[4, i],
                row[5, i],
            )
            for j in range(24):
                half = out[i, j] + a0 * drive[0, j] + a1 * drive[1, j] + a2 * drive[2, j]
                out[i, j] = half + a3 * drive[3, j] + a4 * drive[4, j] + a5 * drive[5, j]
        for a in range(4):
            for b in range(4):
                n1, n2 = slope[a, 0], slope[a, 1]
                b1, b2 = slope[b, 0], slope[b, 1]
                pull = (
                    stressed
                    * w
                    * (
                        s[0] * n1 * b1
                        + s[1] * n2 * b2
                        + s[2] * (middle[a, 0] * middle[b, 1] + middle[a, 1] * middle[b, 0])
                    )
                )
                curl = stressed * w * (s[3] * n1 * b1 + s[4] * n2 * b2 + s[5] * (n1 * b2 + n2 * b1))
                for i in range(3):
                    out[6 * a + i, 6 * b + i] += pull
                    out[6 * a + i, 6 * b + 3 + i] += curl
                    out[6 * a + 3 + i, 6 * b + i] += curl


@lean_kernel()
def _strain_rows(slope: Array, middle: Array, r: Array, d: Array, c: Array, row: Array) -> None:
    """Write the derivatives (6, 24) of the strains with the element's unknowns."""
    for a in range(4):
        n1, n2 = slope[a, 0], slope[a, 1]
        for i in range(3):
            p = 6 * a + i
            row[0, p] = n1 * r[0, i]
            row[1, p] = n2 * r[1, i]
            row[2, p] = middle[a, 0] * c[1, i] + middle[a, 1] * c[0, i]
            row[3, p] = n1 * d[0, i]
            row[4, p] = n2 * d[1, i]
            row[5, p] = n1 * d[1, i] + n2 * d[0, i]
            row[3, p + 3] = n1 * r[0, i]
            row[4, p + 3] = n2 * r[1, i]
            row[5, p + 3] = n2 * r[0, i] + n1 * r[1, i]


@lean_kernel()
def _side_tangent(
    plate: Plate,
    k: int,
    room: Room,
    row: Array,
    gap: Array,
    elastic: float,
    stressed: float,
    out: Array,
) -> None:
    """Add the tied shear of element k to its tangent (24, 24); ``row`` (4, 24), ``gap`` (4,)."""
    chord, mean = room.side[0, 0], room.side[0, 1]
    _sides(room.nodal[0], chord, mean)
    for j in range(4):
        a, b = FIRST[j], LAST[j]
        gap[j] = 0.25 * _dot(chord[j], mean[j]) - plate.natural_side[k, j]
        for i in range(3):
            row[j, 6 * b + i] = 0.25 * mean[j, i]
            row[j, 6 * a + i] = -0.25 * mean[j, i]
            row[j, 6 * b + 3 + i] = 0.25 * chord[j, i]
            row[j, 6 * a + 3 + i] = 0.25 * chord[j, i]
    for j in range(4):
        held = 0.0
        for m in range(4):
            stiffness = elastic * plate.shear[k, j, m]
            held += plate.shear[k, j, m] * gap[m]
            for p in range(24):
                left = stiffness * row[j, p]
                if left != 0.0:
                    for q in range(24):
                        out[p, q] += left * row[m, q]
        s = 0.25 * stressed * held
        a, b = FIRST[j], LAST[j]
        for i in range(3):
            for director in (a, b):
                out[6 * b + i, 6 * director + 3 + i] += s
                out[6 * director + 3 + i, 6 * b + i] += s
                out[6 * a + i, 6 * director + 3 + i] -= s
                out[6 * director + 3 + i, 6 * a + i] -= s
