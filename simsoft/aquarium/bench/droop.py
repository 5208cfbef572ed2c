"""Droop of a strip held level -> resting modulus; weighing dry and in water -> density.

``droop.csv`` has one row per reading: ``L_mm,droop_mm[,t_mm][,temp_C]``, thickness and
temperature in the header where the rows do not give them; ``droop`` is how far the tip hangs
below the level clamp.
"""

from __future__ import annotations

import math

import numpy as np
from scipy import linalg, optimize, stats

from simsoft.aquarium.bench.ringdown import CALIPER, CLAMP_SHARE, strip_density
from simsoft.aquarium.columns import LENGTH, MASS, PLAIN, POSSIBLE
from simsoft.aquarium.files.table import TextTable, column, column_of_words, header_number
from simsoft.aquarium.files.track import ZERO_CELSIUS, header_conditions
from simsoft.aquarium.measured import At, Flag, Measured, disagreement
from simsoft.case.model import WaterInput
from simsoft.core.arrays import Array
from simsoft.core.errors import InputError
from simsoft.lure.parts import GRAVITY
from simsoft.properties.water import resolve_water

READING = 0.5e-3  # [m], a tip against a ruler, one sigma (common practice, no source)
BALANCE = 0.01e-3  # [kg], common kitchen-top precision balance
DEEPEST_DROOP = 0.9  # of the length; beyond it the reading says nothing about stiffness
NODES, MOST_STEPS = 201, 60
HEAVIEST = 1e4  # load searched
DROOP = "heavy elastica clamped level, solved for rho g L^3/(E t^2/12)"
WEIGHED = "dry mass over displaced water, rho = rho_w m/(m - m_sub)"


def droop_ratio(load: float) -> float:
    """Return tip droop over length of a level clamped heavy strip.

    Parameters
    ----------
    load : float [-], rho g A L^3/(E I) = 12 rho g L^3/(E t^2)

    Notes
    -----
    theta'' = -load (1 - s) cos theta with theta(0) = 0, theta'(1) = 0, droop = int sin theta, by
    central differences and Newton's method from the small-load solution on. Small loads:
    load/8, the handbook's 1.5 rho g L^3/(E t^2).
    """
    s = np.linspace(0.0, 1.0, NODES)
    h = s[1]
    theta = np.zeros(NODES)
    for q in np.linspace(0.0, load, int(load / 4.0) + 2)[1:]:
        for _ in range(MOST_STEPS):
            step = _newton_step(theta, q * (1.0 - s), h)
            theta = theta + step
            if np.abs(step).max() < 1e-10:
                break
        else:
            raise ValueError(f"the elastica could not be solved at a load of {load:g}")
    return float(np.trapezoid(np.sin(theta), s))


def _newton_step(theta: Array, line: Array, h: float) -> Array:
    """Return the Newton step of the discretised elastica; a mirror node closes the free end."""
    beyond = np.append(theta[1:], theta[-2])
    residual = np.zeros_like(theta)
    residual[1:] = (theta[:-1] - 2.0 * theta[1:] + beyond[1:]) / h**2
    residual[1:] += line[1:] * np.cos(theta[1:])
    bands = np.zeros((3, len(theta)))
    bands[0, 2:] = 1.0 / h**2
    bands[1, 0] = 1.0
    bands[1, 1:] = -2.0 / h**2 - line[1:] * np.sin(theta[1:])
    bands[2, :-1] = 1.0 / h**2
    bands[2, -2] = 2.0 / h**2
    return np.asarray(linalg.solve_banded((1, 1), bands, -residual))


def droop_load(ratio: float) -> float:
    """Return the load [-] of a droop over length, the inverse of `droop_ratio`."""
    high = 16.0 * ratio
    while droop_ratio(high) < ratio:
        if high > HEAVIEST:
            raise ValueError(f"a droop of {ratio:g} of the length is beyond the elastica solved")
        high *= 2.0
    return float(optimize.brentq(lambda q: droop_ratio(q) - ratio, 4.0 * ratio, high, rtol=1e-5))


def measure_droop(
    table: TextTable, *, density: tuple[float, float] | None = None
) -> list[Measured]:
    """Return the resting ``youngs_modulus`` [Pa] of ``droop.csv``, readings pooled.

    Raises
    ------
    InputError
        Columns are missing or a droop is not between 0 and 0.9 of its length.
    """
    length, droop = column(table, "L", LENGTH), column(table, "droop", LENGTH)
    if length is None or droop is None:
        raise InputError(f"{table.name}: columns `L_mm` and `droop_mm` are needed")
    own = column(table, "t", LENGTH, needed=False)
    header = header_number(table, "t", LENGTH)
    if own is None and header is None:
        raise InputError(
            f"{table.name}: the thickness is missing; a column `t_mm` or a comment "
            "`# t_mm = 3.0` is needed"
        )
    common = math.nan if header is None else header
    thickness = np.full(len(table), common) if own is None else np.where(np.isnan(own), common, own)
    rho, u_rho = strip_density(table, density)
    logs, shares = [], []
    for i in range(len(table)):
        if not (math.isfinite(length[i]) and math.isfinite(droop[i])):
            continue
        if not math.isfinite(thickness[i]):
            raise InputError(f"{table.name}: line {table.lines[i]}: t_mm is missing")
        ratio = float(droop[i] / length[i])
        if not 0.0 < ratio < DEEPEST_DROOP:
            raise InputError(
                f"{table.name}: line {table.lines[i]}: droop over length is {ratio:.3g}; "
                f"between 0 and {DEEPEST_DROOP} is allowed (a shorter free length helps)"
            )
        load = droop_load(ratio)
        slope = (droop_load(1.01 * ratio) / load - 1.0) / 0.01
        modulus = 12.0 * rho * GRAVITY * length[i] ** 3 / (load * thickness[i] ** 2)
        logs.append(math.log(modulus))
        shares.append(
            (slope * READING / droop[i], 2.0 * CALIPER / thickness[i],
             (3.0 + slope) * CLAMP_SHARE * thickness[i] / length[i])
        )  # fmt: skip
    if not logs:
        raise InputError(f"{table.name}: has no row with both L_mm and droop_mm")
    return [_droop_result(table, np.array(logs), np.array(shares), u_rho / rho)]


def _droop_result(table: TextTable, logs: Array, shares: Array, of_density: float) -> Measured:
    """Pool the readings: reading errors average out, thickness and clamp do not."""
    n = len(logs)
    random = float(np.sqrt((shares[:, 0] ** 2).sum())) / n
    if n > 1:
        scatter = float(np.std(logs, ddof=1)) / math.sqrt(n)
        random = max(random, scatter * float(stats.t.ppf(0.8413447, n - 1)))
    share = math.hypot(random, *shares[:, 1:].mean(axis=0), of_density)
    modulus = math.exp(float(logs.mean()))
    at: At = {**header_conditions(table), "frequency": 0.0}
    celsius = column(table, "temp_C", PLAIN, needed=False)
    if celsius is not None and np.isfinite(celsius).any():
        at["temperature"] = float(np.nanmean(celsius)) + ZERO_CELSIUS
    return Measured("youngs_modulus", modulus, share * modulus, "Pa", DROOP, n, at, (), table.name)


def measure_weights(table: TextTable) -> list[Measured]:
    """Return ``density`` [kg/m^3] of ``weigh.csv``, parts pooled."""
    dry, hung = column(table, "mass", MASS), column(table, "mass_sub", MASS)
    if dry is None or hung is None:
        raise InputError(f"{table.name}: columns `mass_g` and `mass_sub_g` are needed")
    celsius = column(table, "water_C", PLAIN, needed=False)
    parts = column_of_words(table, "part_id")
    found, shares = [], []
    for i in range(len(table)):
        if not (math.isfinite(dry[i]) and math.isfinite(hung[i])):
            continue
        if not dry[i] > 0.0 or not dry[i] > hung[i]:
            raise InputError(
                f"{table.name}: line {table.lines[i]}: mass_g must be above zero and above "
                "mass_sub_g (negative for a part that floats and is pushed under)"
            )
        warm = 20.0 if celsius is None or not math.isfinite(celsius[i]) else float(celsius[i])
        water = resolve_water(WaterInput(temperature=warm + ZERO_CELSIUS)).density
        displaced = dry[i] - hung[i]
        density = water * dry[i] / displaced
        low, high = POSSIBLE["density_kgm3"]
        if not low <= density <= high:
            raise InputError(
                f"{table.name}: line {table.lines[i]}: the masses give {density:.3g} kg/m3; "
                f"{low:g} to {high:g} is allowed of soft plastic"
            )
        found.append(density)
        shares.append(BALANCE * math.hypot(hung[i] / dry[i], 1.0) / displaced)
    if not found:
        raise InputError(f"{table.name}: has no row with both masses")
    values = np.array(found)
    n = len(values)
    u = float(np.sqrt((np.array(shares) ** 2).sum())) / n * float(values.mean())
    if n > 1:
        scatter = float(np.std(values, ddof=1)) / math.sqrt(n)
        u = max(u, scatter * float(stats.t.ppf(0.8413447, n - 1)))
    flags: tuple[Flag, ...] = ()
    if n == 1:
        flags = (Flag("one-part", "one part weighed; bubbles differ from part to part", False),)
    flags += disagreement(values, u, "kg/m3")
    name = " ".join(dict.fromkeys(p for p in parts if p)) or table.name
    return [
        Measured(
            "density",
            float(values.mean()),
            u,
            "kg/m^3",
            WEIGHED,
            n,
            header_conditions(table),
            flags,
            name,
        )
    ]
