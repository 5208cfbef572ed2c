"""Sink rate and attitude from depths against time; counted beats; cast distances."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from scipy import optimize, stats

from simsoft.aquarium.columns import ANGLE, LENGTH, MASS, PLAIN, POSSIBLE, SALINITY, SPEED, TIME
from simsoft.aquarium.files.table import TextTable, column, column_of_words
from simsoft.aquarium.files.track import ZERO_CELSIUS, header_conditions, view_in
from simsoft.aquarium.measured import At, Flag, Measured, lacking, pooled
from simsoft.core.arrays import Array
from simsoft.core.errors import InputError

FALL = "straight line through depth, approach to steady fall fitted with it"
TWO_POINTS = "depth over time between the first and the last mark"
COUNTED = "counted beats over time; half a beat in doubt at the ends together"
STEADY = 0.10  # of the rate, change between the halves of a fall
MARK = 1e-3  # [m], reading of a depth mark
HAND = 0.1  # [s], a hand on a stopwatch, one sigma (common practice, no source)


def measure_falls(table: TextTable) -> list[Measured]:
    """Return ``sink_rate`` [m/s] and ``attitude`` [deg, nose down] of ``sink.csv``.

    Every ``run_id`` is fitted alone; repeats under the same conditions are pooled.
    """
    depth = _need(column(table, "depth", LENGTH))
    time = _need(column(table, "t", TIME))
    attitude = column(table, "attitude", ANGLE, needed=False)
    conditions_of = _row_conditions(table)
    runs = np.array(column_of_words(table, "run_id", "fall"))
    rates, angles = [], []
    for run in dict.fromkeys(runs.tolist()):
        rows = (runs == run) & np.isfinite(depth) & np.isfinite(time)
        at = conditions_of(runs == run)
        t, z = time[rows], depth[rows]
        if len(t) > 1 and (np.diff(t) <= 0.0).any():
            line = table.lines[np.flatnonzero(rows)[int(np.argmax(np.diff(t) <= 0.0)) + 1]]
            raise InputError(
                f"{table.name}: line {line}: time does not increase within run `{run}`; "
                "sort the rows by rising time"
            )
        rates.append(_rate(t, z, at, str(run)))
        if attitude is not None and np.isfinite(attitude[rows]).sum() >= 1:
            angles.append(_attitude(t, attitude[rows], at, str(run)))
    return [pooled(rates)] + ([pooled(angles)] if angles else [])


def _need(values: Array | None) -> Array:
    if values is None:
        raise RuntimeError("a column that is needed was not asked for as needed")
    return values


def _row_conditions(table: TextTable) -> Callable[[Array], At]:
    """Return the function that gives the conditions of some rows, else the file's header's."""
    common = header_conditions(table)
    celsius = column(table, "temp_C", PLAIN, needed=False)
    salinity = column(table, "salinity", SALINITY, needed=False)

    def conditions_of(rows: Array) -> At:
        at = dict(common)
        if celsius is not None and np.isfinite(celsius[rows]).any():
            at["temperature"] = float(np.nanmean(celsius[rows])) + ZERO_CELSIUS
        if salinity is not None and np.isfinite(salinity[rows]).any():
            at["salinity"] = float(np.nanmean(salinity[rows]))
        return at

    return conditions_of


def _rate(time: Array, depth: Array, at: At, run: str) -> Measured:
    if len(time) < 2:
        return lacking("sink_rate", "m/s", TWO_POINTS, "fewer than two marks", len(time))
    duration = float(time[-1] - time[0])
    if len(time) < 5:
        rate = float(depth[-1] - depth[0]) / duration
        u = math.hypot(MARK * math.sqrt(2.0) / duration, rate * HAND * math.sqrt(2.0) / duration)
        return Measured("sink_rate", rate, u, "m/s", TWO_POINTS, len(time), at, (), run)
    rate, u = _steady_rate(time, depth)
    flags = []
    middle = len(time) // 2
    late = np.polyfit(time[middle:], depth[middle:], 1)[0]
    early = np.polyfit(time[middle // 2 : middle + 1], depth[middle // 2 : middle + 1], 1)[0]
    if abs(late - early) > STEADY * abs(rate) + 3.0 * u:
        flags.append(
            Flag("not-steady", "the fall is still changing speed; a deeper tank is needed")
        )
    return Measured("sink_rate", rate, u, "m/s", FALL, len(time), at, tuple(flags), run)


def _steady_rate(time: Array, depth: Array) -> tuple[float, float]:
    """Return the steady rate [m/s] and its u: z = a + v t + c exp(-t/tau), c left out if idle."""
    t = time - time[0]
    straight = np.column_stack([np.ones_like(t), t])

    def columns(tau: float) -> Array:
        return np.column_stack([straight, np.exp(-t / tau)])

    def rest(model: Array) -> Array:
        return np.asarray(depth - model @ np.linalg.lstsq(model, depth, rcond=None)[0])

    def squares(tau: float) -> float:
        return float((rest(columns(tau)) ** 2).sum())

    spacing = float(np.median(np.diff(t)))
    longest = max(0.35 * float(t[-1]), 2.0 * spacing)
    found = optimize.minimize_scalar(squares, bounds=(0.3 * spacing, longest), method="bounded")
    tau, free = float(found.x), len(t) - 4
    flat = float((rest(straight) ** 2).sum())
    # F test at about 1 %: the approach must earn its two parameters.
    approach = free > 2 and flat - float(found.fun) > 10.0 * float(found.fun) / free
    model = columns(tau) if approach else straight
    solution = np.linalg.lstsq(model, depth, rcond=None)[0]
    left = rest(model)
    if approach:
        model = np.column_stack([model, t * np.exp(-t / tau)])
    free = max(1, len(t) - model.shape[1])
    covariance = np.linalg.pinv(model.T @ model) * float(left @ left) / free
    u = math.sqrt(float(covariance[1, 1])) * float(stats.t.ppf(0.8413447, free))
    return float(solution[1]), u


def _attitude(time: Array, angle: Array, at: At, run: str) -> Measured:
    good = np.isfinite(angle)
    time, angle = time[good], angle[good]
    method = "mean attitude of the second half of the fall"
    if len(angle) < 4:
        u = float(np.std(angle, ddof=1) / math.sqrt(len(angle))) if len(angle) > 1 else 3.0
        return Measured("attitude", float(angle.mean()), u, "deg", "mean", len(angle), at, (), run)
    late = angle[len(angle) // 2 :]
    slope = float(np.polyfit(time, angle, 1)[0]) * float(time[-1] - time[0])
    flags: tuple[Flag, ...] = ()
    scatter = float(np.std(late, ddof=1))
    if abs(slope) > 10.0:
        text = f"the attitude drifts by {slope:.0f} deg over the fall; it is not settled"
        flags = (Flag("not-steady", text),)
    u = math.hypot(scatter / math.sqrt(len(late)), 1.0)
    return Measured("attitude", float(late.mean()), u, "deg", method, len(late), at, flags, run)


def measure_counts(table: TextTable) -> list[Measured]:
    """Return ``flap_frequency`` [Hz] of every run of ``beats.csv``.

    A count is in doubt by half a beat, evenly spread: u = 0.5/sqrt(3) beats.
    """
    begin, end = _need(column(table, "t_start", TIME)), _need(column(table, "t_end", TIME))
    beats = _need(column(table, "n_beats", PLAIN))
    distance = column(table, "distance", LENGTH, needed=False)
    speed = column(table, "speed", SPEED, needed=False)
    conditions_of = _row_conditions(table)
    views, runs = (
        column_of_words(table, "view", table.header.get("view", "")),
        column_of_words(table, "run_id"),
    )
    result = []
    for i in range(len(table)):
        span = float(end[i] - begin[i])
        if not span > 0.0 or not beats[i] >= 0.0:
            raise InputError(
                f"{table.name}: line {table.lines[i]}: t_end_s must be later than t_start_s and "
                "n_beats 0 or more"
            )
        at = conditions_of(np.array([i]))
        if distance is not None and math.isfinite(distance[i]):
            at["speed"] = _speed_of(
                float(distance[i]), span, f"{table.name}: line {table.lines[i]}"
            )
        if speed is not None and math.isfinite(speed[i]):
            at["speed"] = float(speed[i])
        at["view"] = view_in(table, i, views[i])
        run = runs[i] or f"row {i + 1}"
        if beats[i] == 0.0:
            nothing = lacking("flap_frequency", "Hz", COUNTED, "no beat was counted")
            result.append(Measured(**{**vars(nothing), "at": at, "run": run}))
            continue
        flags: list[Flag] = []
        if not views[i]:
            flags.append(Flag("view", "the view was not said; from the side count every other"))
        share = 0.5 / math.sqrt(3.0) / beats[i]
        frequency = float(beats[i]) / span
        factor = 0.5 if views[i] == "side" else 1.0
        if factor < 1.0:
            flags.append(Flag("halved", "the rate seen from the side was halved", severe=False))
        result.append(
            Measured(
                "flap_frequency",
                factor * frequency,
                factor * frequency * math.hypot(share, HAND * math.sqrt(2.0) / span),
                "Hz",
                COUNTED,
                int(beats[i]),
                at,
                tuple(flags),
                run,
            )
        )
    return result


def _speed_of(distance: float, span: float, where: str) -> float:
    """Return distance over time [m/s]; InputError where it is no speed of a lure."""
    speed, fastest = distance / span, POSSIBLE["speed_mps"].high
    if speed > fastest:
        raise InputError(
            f"{where}: distance over time is {speed:.3g} m/s; at most {fastest:g} is allowed"
        )
    return speed


def measure_casts(table: TextTable) -> list[Measured]:
    """Return ``cast_distance`` [m] of ``cast.csv``, casts in like wind pooled.

    Wind direction is 0 deg for a head wind; casts are grouped by the head wind to 1 m/s.
    """
    distance = _need(column(table, "distance", LENGTH))
    wind = column(table, "wind", SPEED, needed=False)
    angle = column(table, "wind_dir", ANGLE, needed=False)
    mass = column(table, "lure", MASS, needed=False)
    groups: dict[float, list[float]] = {}
    for i, metres in enumerate(distance):
        if not math.isfinite(metres):
            continue
        blow = 0.0 if wind is None or not math.isfinite(wind[i]) else float(wind[i])
        turn = 0.0 if angle is None or not math.isfinite(angle[i]) else math.radians(angle[i])
        groups.setdefault(float(round(blow * math.cos(turn))), []).append(float(metres))
    if not groups:
        raise InputError(f"{table.name}: has no distance in any row")
    result = []
    for head, found in sorted(groups.items()):
        at: At = {**header_conditions(table), "head_wind": head}
        if mass is not None and np.isfinite(mass).any():
            at["mass"] = float(np.nanmean(mass))
        n = len(found)
        u = 0.1 * found[0] if n == 1 else float(np.std(found, ddof=1)) / math.sqrt(n)
        u *= 1.0 if n == 1 else float(stats.t.ppf(0.8413447, n - 1))
        method = f"mean of {n} casts" if n > 1 else "one cast, 10 % from cast to cast assumed"
        result.append(
            Measured("cast_distance", float(np.mean(found)), u, "m", method, n, at, (), "casts")
        )
    return result
