"""Forces, energy and tangents of the plate: compiled loops over elements, exact in rotation."""

from __future__ import annotations

import numpy as np

from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel
from simsoft.mechanics.plate import SIDES, Plate

FIRST = SIDES[:, 0].copy()
LAST = SIDES[:, 1].copy()


@kernel()
def _dot(a: Array, b: Array) -> float:
    return float(a[0] * b[0] + a[1] * b[1] + a[2] * b[2])


@kernel()
def _slopes(slope: Array, nodal: Array, out: Array) -> None:
    """Write the two derivatives (2, 3) of nodal vectors (4, 3) with slopes (4, 2)."""
    for x in range(2):
        for i in range(3):
            total = 0.0
            for a in range(4):
                total += slope[a, x] * nodal[a, i]
            out[x, i] = total


@kernel()
def _strain(r: Array, d: Array, c: Array, out: Array) -> None:
    """Write the strains (6,) of derivatives at a point ``r, d`` and at the middle ``c``."""
    out[0] = 0.5 * _dot(r[0], r[0])
    out[1] = 0.5 * _dot(r[1], r[1])
    out[2] = _dot(c[0], c[1])
    out[3] = _dot(r[0], d[0])
    out[4] = _dot(r[1], d[1])
    out[5] = _dot(r[0], d[1]) + _dot(r[1], d[0])


@kernel()
def _strain_rate(r: Array, d: Array, c: Array, vr: Array, vd: Array, vc: Array, out: Array) -> None:
    """Write the rates (6,) of the strains with the rates of the derivatives."""
    out[0] = _dot(r[0], vr[0])
    out[1] = _dot(r[1], vr[1])
    out[2] = _dot(c[0], vc[1]) + _dot(c[1], vc[0])
    out[3] = _dot(r[0], vd[0]) + _dot(vr[0], d[0])
    out[4] = _dot(r[1], vd[1]) + _dot(vr[1], d[1])
    out[5] = _dot(r[0], vd[1]) + _dot(vr[0], d[1]) + _dot(r[1], vd[0]) + _dot(vr[1], d[0])


@kernel()
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
    energy = 0.0
    power = 0.0
    r, d, c = np.empty((2, 3)), np.empty((2, 3)), np.empty((2, 3))
    vr, vd, vc = np.empty((2, 3)), np.empty((2, 3)), np.empty((2, 3))
    nodal, speed = np.empty((4, 6)), np.empty((4, 6))
    e, er, s, sr = np.empty(6), np.empty(6), np.empty(6), np.empty(6)
    for k in range(plate.quads.shape[0]):
        for a in range(4):
            nodal[a] = state[plate.quads[k, a]]
            speed[a] = rate[plate.quads[k, a]]
        middle = plate.slope[k, 4]
        _slopes(middle, nodal[:, :3], c)
        _slopes(middle, speed[:, :3], vc)
        twist = 0.0
        for p in range(4):
            slope = plate.slope[k, p]
            _slopes(slope, nodal[:, :3], r)
            _slopes(slope, nodal[:, 3:], d)
            _slopes(slope, speed[:, :3], vr)
            _slopes(slope, speed[:, 3:], vd)
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
            for a in range(4):
                n = plate.quads[k, a]
                for i in range(3):
                    force[n, i] += slope[a, 0] * (
                        s[0] * r[0, i] + s[3] * d[0, i] + s[5] * d[1, i]
                    ) + slope[a, 1] * (s[1] * r[1, i] + s[4] * d[1, i] + s[5] * d[0, i])
                    force[n, 3 + i] += slope[a, 0] * (s[3] * r[0, i] + s[5] * r[1, i]) + slope[
                        a, 1
                    ] * (s[4] * r[1, i] + s[5] * r[0, i])
        for a in range(4):
            n = plate.quads[k, a]
            for i in range(3):
                force[n, i] += twist * (middle[a, 0] * c[1, i] + middle[a, 1] * c[0, i])
        stored, lost = _side_forces(plate, k, nodal, speed, time, force)
        energy += stored
        power += lost
    for n in range(state.shape[0]):
        stiffness = plate.director[n]
        stretch = 0.5 * (_dot(state[n, 3:], state[n, 3:]) - 1.0)
        swell = _dot(state[n, 3:], rate[n, 3:])
        energy += 0.5 * stiffness * stretch**2
        power += time * stiffness * swell**2
        for i in range(3):
            force[n, 3 + i] += stiffness * (stretch + time * swell) * state[n, 3 + i]
    return energy, power


@kernel()
def _sides(nodal: Array, chord: Array, mean: Array) -> None:
    """Write chords (4, 3) and summed directors (4, 3) of the sides of nodal rows (4, 6)."""
    for j in range(4):
        for i in range(3):
            chord[j, i] = nodal[LAST[j], i] - nodal[FIRST[j], i]
            mean[j, i] = nodal[LAST[j], 3 + i] + nodal[FIRST[j], 3 + i]


@kernel()
def _side_forces(
    plate: Plate, k: int, nodal: Array, speed: Array, time: float, force: Array
) -> tuple[float, float]:
    """Add the forces of the tied shear of element k; return its energy and power."""
    chord, mean = np.empty((4, 3)), np.empty((4, 3))
    v_chord, v_mean = np.empty((4, 3)), np.empty((4, 3))
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
    nodal = np.empty((4, 6))
    for k in range(count):
        for a in range(4):
            nodal[a] = state[plate.quads[k, a]]
        _element_tangent(plate, k, nodal, elastic, stressed, result[k])
        _side_tangent(plate, k, nodal, elastic, stressed, result[k])
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


@kernel()
def _element_tangent(
    plate: Plate, k: int, nodal: Array, elastic: float, stressed: float, out: Array
) -> None:
    """Add membrane and bending of element k to its tangent (24, 24)."""
    r, d, c = np.empty((2, 3)), np.empty((2, 3)), np.empty((2, 3))
    e, s = np.empty(6), np.empty(6)
    row, drive = np.zeros((6, 24)), np.zeros((6, 24))
    middle = plate.slope[k, 4]
    _slopes(middle, nodal[:, :3], c)
    for p in range(4):
        slope = plate.slope[k, p]
        _slopes(slope, nodal[:, :3], r)
        _slopes(slope, nodal[:, 3:], d)
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
            for m in range(6):
                left = row[m, i]
                if left != 0.0:
                    for j in range(24):
                        out[i, j] += left * drive[m, j]
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


@kernel()
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


@kernel()
def _side_tangent(
    plate: Plate, k: int, nodal: Array, elastic: float, stressed: float, out: Array
) -> None:
    """Add the tied shear of element k to its tangent (24, 24)."""
    chord, mean = np.empty((4, 3)), np.empty((4, 3))
    _sides(nodal, chord, mean)
    row = np.zeros((4, 24))
    gap = np.empty(4)
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
