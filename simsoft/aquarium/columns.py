"""The column table: what a column or a comment line of a measurement file may hold.

A column is called ``name_unit``; whatever unit it has, it is read to SI. The limits stand under
the name with its first unit. They are limits of what is possible at a bench or in a tank, chosen
wide (common practice, no source); what is merely odd is flagged by the estimates.
"""

from __future__ import annotations

from typing import NamedTuple

TIME = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "min": 60.0}
LENGTH = {"mm": 1e-3, "m": 1.0, "cm": 1e-2, "in": 0.0254, "inch": 0.0254, "um": 1e-6}
MASS = {"g": 1e-3, "kg": 1.0, "mg": 1e-6, "oz": 0.028349523125}
SPEED = {"mps": 1.0, "cmps": 1e-2, "mmps": 1e-3, "inps": 0.0254, "ftps": 0.3048}
ANGLE = {"deg": 1.0}
SALINITY = {"gkg": 1e-3}
DENSITY = {"kgm3": 1.0, "gcm3": 1e3}
PLAIN = {"": 1.0}
PIXELS = "px"


class Interval(NamedTuple):
    """What is possible, both ends included, in the unit of its name in the table."""

    low: float
    high: float


_PLACE = Interval(-1e6, 1e6)  # a kilometre; a column in the wrong unit is flagged later
POSSIBLE = {
    "t_s": Interval(-1e10, 1e10),  # clocks that count from 1970 are allowed
    "t_start_s": Interval(-1e10, 1e10),
    "t_end_s": Interval(-1e10, 1e10),
    "x_mm": _PLACE,
    "y_mm": _PLACE,
    "xb_mm": _PLACE,
    "yb_mm": _PLACE,
    "conf": Interval(0.0, 100.0),
    "speed_mps": Interval(0.0, 20.0),
    "temp_C": Interval(-2.0, 60.0),  # range of the water law, and of a case and a profile
    "water_C": Interval(-2.0, 60.0),
    "salinity_gkg": Interval(0.0, 120.0),
    "n_beats": Interval(0.0, 1e6),
    "distance_mm": Interval(1.0, 1e6),
    "depth_mm": Interval(-1e3, 1e5),
    "attitude_deg": Interval(-360.0, 360.0),
    "wind_mps": Interval(0.0, 60.0),
    "wind_dir_deg": Interval(-360.0, 360.0),
    "lure_g": Interval(0.01, 1e4),
    "mass_g": Interval(0.01, 1e5),
    "mass_sub_g": Interval(-1e5, 1e5),
    "L_mm": Interval(1.0, 1000.0),
    "t_mm": Interval(0.1, 1000.0),
    "u_L_mm": Interval(0.0, 100.0),
    "u_t_mm": Interval(0.0, 10.0),
    "droop_mm": Interval(0.1, 1000.0),
    "density_kgm3": Interval(500.0, 3000.0),
    "scale_mm_per_px": Interval(1e-6, 1000.0),
    "scale_u_percent": Interval(0.0, 50.0),
    "value": Interval(-1e15, 1e15),
    "u_68": Interval(0.0, 1e15),
    "n": Interval(0.0, 1e9),
    "frequency_Hz": Interval(0.0, 1e3),
}

MOST_COLUMNS = 100
MOST_LINES = 200_000  # a quarter of an hour at 240 rows a second
LONGEST_CELL = 500  # characters
LONGEST_WORD = 400  # characters of a name, a method, a reason
LONGEST_LINE = 10_000  # characters
# Every row of these is an estimate of its own; those of a track are one.
MOST_ROWS = {"droop": 500, "weigh": 2000, "sink": 5000, "cast": 5000, "beats": 5000, "runs": 5000,
             "results": 5000, "designs": 500}  # fmt: skip


LARGEST = 1e15  # of any other quantity, either sign
