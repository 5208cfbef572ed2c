"""Mass properties of a mesh beside those of the case that was made of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simsoft.case.model import Case
from simsoft.core.arrays import Array
from simsoft.drawn.shapes import Understood
from simsoft.drawn.solid import areas_seen, centre_and_second
from simsoft.lure.assembly import assemble_whole, central_values, lure_components
from simsoft.lure.components import centre_of
from simsoft.lure.parts import assemble

FLAG = 0.02  # difference that is flagged


@dataclass(frozen=True)
class BalanceRow:
    """One quantity of both.

    Attributes
    ----------
    name, unit : str
    mesh, case : float
    difference : float [-], over the mesh's; of a place over the bait's length
    """

    name: str
    unit: str
    mesh: float
    case: float
    difference: float

    @property
    def flagged(self) -> bool:
        """Tell whether the two differ by more than a fiftieth."""
        return abs(self.difference) > FLAG


def mesh_balance(understood: Understood, case: Case) -> list[BalanceRow]:
    """Return volume, centre and areas of mesh and case, hook and weights left out.

    Areas are summed over the pieces, as a case sums them: nothing hides behind another.
    """
    whole = assemble_whole(case, assemble(case))
    rigid = {"hook", *(weight.name for weight in whole.rig.weights)}
    pieces = [p for p in lure_components(whole, central_values(whole)) if p.name not in rigid]
    displaced: Array = np.sum([piece.displaced for piece in pieces], axis=0)
    areas = 1e6 * np.sum([piece.areas for piece in pieces], axis=0)
    centre = 1e3 * centre_of(displaced)
    solid = understood.solid
    box = solid.bounding_box()
    length = float(box[3])
    found, seen = centre_and_second(solid)[0], _seen(understood)
    rows = [_row("volume", "mm3", float(solid.volume()), 1e9 * float(displaced[3, 3]))]
    for k, axis in enumerate("xyz"):
        off = float(centre[k] - found[k])
        rows.append(
            BalanceRow(f"centre {axis}", "mm", float(found[k]), float(centre[k]), off / length)
        )
    for k, axis in enumerate(("end on", "from the side", "from above")):
        rows.append(_row(f"area {axis}", "mm2", float(seen[k]), float(areas[k])))
    return rows


def _row(name: str, unit: str, mesh: float, case: float) -> BalanceRow:
    return BalanceRow(name, unit, mesh, case, case / mesh - 1.0)


def _seen(understood: Understood) -> Array:
    """Return the areas (3,) [mm^2] of the pieces' outlines, pairs twice."""
    total = areas_seen(understood.trunk.solid)
    for part in understood.parts:
        total = total + (2.0 if part.mirrored else 1.0) * areas_seen(part.solid)
    return total


def _shown(value: float) -> str:
    """Return a number in four digits; what is below a thousandth is nothing."""
    return f"{value:.4g}" if abs(value) > 1e-3 else "0"


def balance_text(rows: list[BalanceRow]) -> str:
    """Return the rows as a table of text; what differs by more than 2 % is flagged."""
    lines = [f"{'':18}{'mesh':>10}{'case':>10}  {'':4}{'off':>7}"]
    for row in rows:
        mark = "  CHECK" if row.flagged else ""
        lines.append(
            f"{row.name:18}{_shown(row.mesh):>10}{_shown(row.case):>10}  {row.unit:4}"
            f"{100 * row.difference:6.1f} %{mark}"
        )
    return "\n".join(lines) + "\n"
