"""One collision of the populations of a cell, for the processor and for a graphics card.

Recursive-regularised collision: populations are rebuilt from density, momentum and stress, with
the third-order terms that the lattice can carry (Malaspinas 2015, arXiv:1505.06900; their D3Q19
form: Jacob, Malaspinas & Sagaut 2018, doi:10.1080/14685248.2018.1540879). It damps what the lattice
cannot carry and stays stable at small viscosity. What the grid cannot resolve is taken by a
Smagorinsky eddy viscosity, local in the cell (Hou et al. 1996, arXiv:comp-gas/9401004).

All numbers are single precision; a double literal would make a card work in double.
"""

from __future__ import annotations

import math

import numpy as np

from simsoft.core.compiled import lean_kernel
from simsoft.resolved.lattice import AXIS_WEIGHT, DIAGONAL_WEIGHT, REST_WEIGHT, Real

ONE = np.float32(1.0)
HALF = np.float32(0.5)
TWO = np.float32(2.0)
THREE = np.float32(3.0)
THIRD = np.float32(1.0 / 3.0)
SECOND_ORDER = np.float32(4.5)  # 1 / (2 c_s^4), and 1 / (6 c_s^6) of the third order
EDDY = np.float32(18.0 * np.sqrt(2.0))

Populations = tuple[Real, ...]  # 19, less their weights
Moments = tuple[Real, Real, Real, Real, Real, Real]

inlined = lean_kernel(forceinline=True)


@inlined
def rebuild(
    rho: Real, momentum: tuple[Real, Real, Real], second: Moments, third: Moments
) -> Populations:
    """Return the 19 populations that have the given moments, less their weights.

    Parameters
    ----------
    rho : density less one
    momentum : along x, y, z
    second : Hermite moments xx, yy, zz, xy, xz, yz
    third : Hermite moments xxy, xxz, xyy, yyz, xzz, yzz
    """
    jx, jy, jz = momentum
    axx, ayy, azz, axy, axz, ayz = second
    xxy, xxz, xyy, yyz, xzz, yzz = third
    base = rho - SECOND_ORDER * THIRD * (axx + ayy + azz)
    rest = REST_WEIGHT * base
    ex = AXIS_WEIGHT * (base + SECOND_ORDER * axx)
    ey = AXIS_WEIGHT * (base + SECOND_ORDER * ayy)
    ez = AXIS_WEIGHT * (base + SECOND_ORDER * azz)
    ox = AXIS_WEIGHT * (THREE * jx - TWO * SECOND_ORDER * (xyy + xzz))
    oy = AXIS_WEIGHT * (THREE * jy - TWO * SECOND_ORDER * (xxy + yzz))
    oz = AXIS_WEIGHT * (THREE * jz - TWO * SECOND_ORDER * (xxz + yyz))
    exy = DIAGONAL_WEIGHT * (base + SECOND_ORDER * (axx + ayy))
    exz = DIAGONAL_WEIGHT * (base + SECOND_ORDER * (axx + azz))
    eyz = DIAGONAL_WEIGHT * (base + SECOND_ORDER * (ayy + azz))
    sxy = DIAGONAL_WEIGHT * TWO * SECOND_ORDER * axy
    sxz = DIAGONAL_WEIGHT * TWO * SECOND_ORDER * axz
    syz = DIAGONAL_WEIGHT * TWO * SECOND_ORDER * ayz
    px = DIAGONAL_WEIGHT * (THREE * jx + TWO * SECOND_ORDER * xyy)
    py = DIAGONAL_WEIGHT * (THREE * jy + TWO * SECOND_ORDER * xxy)
    qx = DIAGONAL_WEIGHT * (THREE * jx + TWO * SECOND_ORDER * xzz)
    qz = DIAGONAL_WEIGHT * (THREE * jz + TWO * SECOND_ORDER * xxz)
    ry = DIAGONAL_WEIGHT * (THREE * jy + TWO * SECOND_ORDER * yzz)
    rz = DIAGONAL_WEIGHT * (THREE * jz + TWO * SECOND_ORDER * yyz)
    return (
        rest,
        ex + ox, ex - ox, ey + oy, ey - oy, ez + oz, ez - oz,
        exy + sxy + (px + py), exy + sxy - (px + py),
        exy - sxy + (px - py), exy - sxy - (px - py),
        exz + sxz + (qx + qz), exz + sxz - (qx + qz),
        exz - sxz + (qx - qz), exz - sxz - (qx - qz),
        eyz + syz + (ry + rz), eyz + syz - (ry + rz),
        eyz - syz + (ry - rz), eyz - syz - (ry - rz),
    )  # fmt: skip


@inlined
def equilibrium(rho: Real, ux: Real, uy: Real, uz: Real) -> Populations:
    """Return the equilibrium of a density less one and a velocity [cells / step]."""
    density = ONE + rho
    jx, jy, jz = density * ux, density * uy, density * uz
    axx, ayy, azz = jx * ux, jy * uy, jz * uz
    axy, axz, ayz = jx * uy, jx * uz, jy * uz
    return rebuild(
        rho,
        (jx, jy, jz),
        (axx, ayy, azz, axy, axz, ayz),
        (axx * uy, axx * uz, axy * uy, ayy * uz, axz * uz, ayz * uz),
    )


@inlined
def collide(h: Populations, time: Real, smagorinsky: Real) -> Populations:
    """Return the populations after a collision.

    Parameters
    ----------
    h : populations less their weights
    time : relaxation time [steps] of the molecular viscosity
    smagorinsky : square of the Smagorinsky constant; zero switches the closure off
    """
    h0, h1, h2, h3, h4, h5, h6, h7, h8, h9, h10, h11, h12, h13, h14, h15, h16, h17, h18 = h
    sx, sy, sz = h1 + h2, h3 + h4, h5 + h6
    dxy, dxz, dyz = h7 + h8, h11 + h12, h15 + h16
    exy, exz, eyz = h9 + h10, h13 + h14, h17 + h18
    rho = h0 + (sx + sy + sz) + (dxy + dxz + dyz) + (exy + exz + eyz)
    jx = (h1 - h2) + (h7 - h8) + (h9 - h10) + (h11 - h12) + (h13 - h14)
    jy = (h3 - h4) + (h7 - h8) - (h9 - h10) + (h15 - h16) + (h17 - h18)
    jz = (h5 - h6) + (h11 - h12) - (h13 - h14) + (h15 - h16) - (h17 - h18)
    inverse = ONE / (ONE + rho)
    ux, uy, uz = jx * inverse, jy * inverse, jz * inverse
    axx, ayy, azz = jx * ux, jy * uy, jz * uz
    axy, axz, ayz = jx * uy, jx * uz, jy * uz
    pressure = THIRD * rho
    nxx = sx + dxy + exy + dxz + exz - pressure - axx
    nyy = sy + dxy + exy + dyz + eyz - pressure - ayy
    nzz = sz + dxz + exz + dyz + eyz - pressure - azz
    nxy = dxy - exy - axy
    nxz = dxz - exz - axz
    nyz = dyz - eyz - ayz
    strain = nxx * nxx + nyy * nyy + nzz * nzz + TWO * (nxy * nxy + nxz * nxz + nyz * nyz)
    whole = HALF * (
        time + math.sqrt(time * time + EDDY * smagorinsky * inverse * math.sqrt(strain))
    )
    keep = ONE - ONE / whole
    nxx, nyy, nzz = keep * nxx, keep * nyy, keep * nzz
    nxy, nxz, nyz = keep * nxy, keep * nxz, keep * nyz
    return rebuild(
        rho,
        (jx, jy, jz),
        (axx + nxx, ayy + nyy, azz + nzz, axy + nxy, axz + nxz, ayz + nyz),
        (
            axx * uy + TWO * ux * nxy + uy * nxx,
            axx * uz + TWO * ux * nxz + uz * nxx,
            axy * uy + TWO * uy * nxy + ux * nyy,
            ayy * uz + TWO * uy * nyz + uz * nyy,
            axz * uz + TWO * uz * nxz + ux * nzz,
            ayz * uz + TWO * uz * nyz + uy * nzz,
        ),
    )
