"""A tip track as the analysis wants it: times, positions in metres, conditions of the run."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from simsoft.aquarium.columns import LENGTH, PLAIN, SALINITY, SPEED
from simsoft.aquarium.files.table import TextTable, column, header_number, header_words, rising_time
from simsoft.aquarium.measured import At
from simsoft.case.wording import given
from simsoft.core.arrays import Array
from simsoft.core.errors import InputError

VIEWS = ("below", "above", "mirror", "rear", "side")
SWEEPS = ("sideways", "vertical")
LEAST_CONFIDENCE = 0.5  # a row with less is a gap
FEWEST_ROWS = 8
ZERO_CELSIUS = 273.15  # [K]
SCALE_SHARE = 0.02  # relative u of a scale in the lure's plane, depth +-20 mm (refraction formula)


@dataclass(frozen=True)
class Track:
    """A track of the tail's tip.

    Attributes
    ----------
    name : str
    time : array (N,) [s]
    tip : array (N, 2) [m], in the image plane; relative to the body where that was tracked
    axis : array (2,) or None, unit vector from body to tip on average
    dropped : int, rows left out (gaps, low confidence)
    longest_gap : float [s]
    view : str, one of VIEWS or '' where it was not said
    sweep : 'sideways' or 'vertical', how the tail beats
    scale_share : float, relative standard uncertainty of the scale
    scaled : bool, False where lengths are pixels for want of a scale
    speed : array (N,) or None [m/s], a row's own speed (speed ramp)
    at : dict, conditions of the run
    """

    name: str
    time: Array
    tip: Array
    axis: Array | None = None
    dropped: int = 0
    longest_gap: float = 0.0
    view: str = ""
    sweep: str = "sideways"
    scale_share: float = SCALE_SHARE
    scaled: bool = True
    speed: Array | None = None
    at: At = field(default_factory=dict)


def header_conditions(table: TextTable) -> At:
    """Return speed [m/s], temperature [K], salinity, view and other words of a file's header."""
    at: At = {}
    speed = header_number(table, "speed", SPEED)
    if speed is not None:
        at["speed"] = speed
    celsius = header_number(table, "temp_C", PLAIN)
    if celsius is not None:
        at["temperature"] = celsius + ZERO_CELSIUS
    salinity = header_number(table, "salinity", SALINITY)
    if salinity is not None:
        at["salinity"] = salinity
    return at | header_words(table, ("view", "part", "date", "run_id", "case_id"))


def one_of(table: TextTable, key: str, allowed: tuple[str, ...], default: str) -> str:
    """Return a word of the header out of a closed list; InputError for any other."""
    word = table.header.get(key, default)
    if word != default and word not in allowed:
        raise InputError(
            f"{table.name}: `# {key}` is {given(word)}; allowed are {', '.join(allowed)}"
        )
    return word


def view_in(table: TextTable, row: int, word: str) -> str:
    """Return the view that a row states, '' for none; InputError for one that is not known."""
    if word and word not in VIEWS:
        raise InputError(
            f"{table.name}: line {table.lines[row]}: view is {given(word)}; allowed are "
            f"{', '.join(VIEWS)}"
        )
    return word


def scale_of(table: TextTable, scale: float | None) -> float | None:
    """Return the scale [m/px], the caller's or the header's; InputError for one below zero."""
    found = header_number(table, "scale_mm_per_px", {"": 1e-3}, scale)
    if scale is not None:
        found = scale
    if found is not None and not 0.0 < found < 1.0:
        raise InputError(
            f"{table.name}: the scale is {found * 1e3:g} mm/px; between 0 and 1000 is allowed"
        )
    return found


def read_track(table: TextTable, *, scale: float | None = None, view: str = "") -> Track:
    """Return the track of a table ``t_s,x_mm,y_mm[,xb_mm,yb_mm,conf][,speed_mps]``.

    Parameters
    ----------
    table : TextTable
    scale : float or None [m/px], for columns in pixels
    view : str, stands before the header's own

    Raises
    ------
    InputError
        Columns, units or times are wrong, or fewer than eight usable rows are left.
    """
    time = rising_time(table)
    metres_per_pixel = scale_of(table, scale)
    x = column(table, "x", LENGTH, scale=metres_per_pixel)
    y = column(table, "y", LENGTH, needed=False, scale=metres_per_pixel)
    if x is None:
        raise InputError(f"{table.name}: there is no column `x_mm`")
    tip = np.column_stack([x, np.zeros_like(x) if y is None else y])
    body = [
        column(table, name, LENGTH, needed=False, scale=metres_per_pixel) for name in ("xb", "yb")
    ]
    axis = None
    good = np.isfinite(tip).all(axis=1)
    if body[0] is not None and body[1] is not None:
        tip = tip - np.column_stack([body[0], body[1]])
        good &= np.isfinite(tip).all(axis=1)
        mean = tip[good].mean(axis=0) if good.any() else np.zeros(2)
        length = float(np.hypot(*mean))
        axis = mean / length if length > 0.0 else None
    confidence = column(table, "conf", PLAIN, needed=False)
    if confidence is not None:
        good &= ~(confidence < LEAST_CONFIDENCE)
    if good.sum() < FEWEST_ROWS:
        raise InputError(
            f"{table.name}: has {int(good.sum())} usable rows; at least {FEWEST_ROWS} are needed"
        )
    speed = column(table, "speed", SPEED, needed=False)
    return Track(
        name=table.name,
        time=time[good],
        tip=tip[good],
        axis=axis,
        dropped=int((~good).sum()),
        longest_gap=float(np.diff(time[good]).max()),
        view=view or one_of(table, "view", VIEWS, ""),
        sweep=one_of(table, "sweep", SWEEPS, "sideways"),
        scale_share=_scale_share(table),
        speed=None if speed is None else speed[good],
        at=header_conditions(table),
    )


def _scale_share(table: TextTable) -> float:
    percent = header_number(table, "scale_u_percent", PLAIN)
    if percent is None:
        return SCALE_SHARE
    if not 0.0 <= percent <= 50.0 or not math.isfinite(percent):
        raise InputError(f"{table.name}: `# scale_u_percent` is {percent:g}; 0 to 50 is allowed")
    return percent / 100.0
