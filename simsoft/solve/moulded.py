"""Parts as moulded, drawn for runs that ask them nothing at rest or on a beat."""

from __future__ import annotations

from simsoft.lure import Strip, build_rod, values_of
from simsoft.result import Shape
from simsoft.solve.geometry import shape_of
from simsoft.water import Water


def moulded_shape(strip: Strip, surrounding: Water) -> Shape:
    """Return the drawing of a part as moulded, positions from its clamp [m].

    Parameters
    ----------
    strip : Strip
    surrounding : Water

    Returns
    -------
    shape : Shape, of no scenario
    """
    if strip.model == "plate" and strip.part.paddle is None:
        from simsoft.plates import build_plate
        from simsoft.solve.plate_setup import shape_of_plate

        plate = build_plate(strip, surrounding, values_of(strip), gravity=False, air=True)
        return shape_of_plate(strip, plate, plate.state, scenario="", speed=0.0, label="moulded")
    rod = build_rod(strip, surrounding, values_of(strip), gravity=False, air=True)
    return shape_of(strip, rod, rod.natural, scenario="", speed=0.0, label="moulded")
