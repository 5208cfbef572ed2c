"""Parts as moulded, drawn for runs that ask them nothing at rest or on a beat."""

from __future__ import annotations

from simsoft.bodies.rod.shapes import shape_of
from simsoft.lure.parts import Specimen, Strip, values_of
from simsoft.lure.rod_model import build_rod
from simsoft.properties.water import Water
from simsoft.results.result import Shape


def moulded_shape(strip: Strip, surrounding: Water) -> Shape:
    """Return the drawing of a part as moulded, positions from its clamp [m].

    Returns
    -------
    shape : Shape, of no scenario
    """
    if strip.solved_as == "plate":
        from simsoft.bodies.plate.setup import shape_of_plate
        from simsoft.lure.plate_model import build_plate

        plate = build_plate(Specimen(strip, surrounding, values_of(strip), gravity=False, air=True))
        return shape_of_plate(strip, plate, plate.state, scenario="", speed=0.0, label="moulded")
    rod = build_rod(Specimen(strip, surrounding, values_of(strip), gravity=False, air=True))
    return shape_of(strip, rod, rod.natural, scenario="", speed=0.0, label="moulded")
