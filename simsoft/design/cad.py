"""Back to CAD: the sizes of a case as parameters, and the cavity that moulds them."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from simsoft.case.model import Case
from simsoft.case.units import convert
from simsoft.core.cells import text_cell
from simsoft.design.case_tables import quantities
from simsoft.design.scatter import BIAS_SCATTER, MOULD_BIAS
from simsoft.design.text_number import Quantity
from simsoft.lure.assembly import assemble_whole
from simsoft.lure.parts import assemble
from simsoft.lure.records import whole_records

# Common practice, no source: plasticiser shrinks by 1.9 % at most from set to room temperature.
SHRINKAGE, SHRINKAGE_SCATTER = 0.015, 0.005
RUNNER_SHARE = 0.25  # 0.15 to 0.35 of the parts' mass, common practice, no source
# Sizes across the parting plane, which is taken to be the lure's middle plane (x-z): the kick of
# a tail and the width of a body open the mould, all others lie in one half.
ACROSS = ("thickness", "neck_thickness", "diameter")
SIZES = ("mm", "cm", "m", "in", "inch", "ft")


@dataclass(frozen=True)
class Parameter:
    """One line of a CAD parameter table, in the unit the user wrote."""

    name: str
    value: str
    unit: str
    comment: str


@dataclass(frozen=True)
class Shot:
    """What one shot takes; mass [kg] and volume [m^3] of the finished, cold parts.

    Attributes
    ----------
    mass, volume : float, of one lure's soft parts
    cavities : int
    runner_share : float
    """

    mass: float
    volume: float
    cavities: int
    runner_share: float

    @property
    def plate_mass(self) -> float:
        """Mass of all cavities with runner and sprue [kg]."""
        return self.mass * self.cavities * (1.0 + self.runner_share)

    @property
    def plate_volume(self) -> float:
        """Volume of all cavities with runner and sprue [m^3]."""
        return self.volume * self.cavities * (1.0 + self.runner_share)


def parameters(tables: dict[str, Any]) -> list[Parameter]:
    """Return every size of parts and body, and the durometer, as the case states them."""
    found = []
    for name, item, path, where in _stated(tables):
        found.append(Parameter(name, _number(item), item.unit, f"{path}{where}"))
    durometer = tables.get("material", {}).get("durometer")
    if durometer is not None:
        for item in quantities(durometer):
            found.append(Parameter("durometer", _number(item), item.unit, "finished compound"))
    return found


def cavity(case: Case, tables: dict[str, Any]) -> list[Parameter]:
    """Return the sizes to cut: (part - bias across the parting plane) x (1 + shrinkage).

    A bias that the case's profile has measured is in every prediction already: such parts are
    wanted thicker than drawn, and their cavity is cut as drawn.
    """
    shop = case.shop
    shrink = SHRINKAGE if shop.shrinkage is None else shop.shrinkage
    spread = SHRINKAGE_SCATTER if shop.shrinkage_scatter is None else shop.shrinkage_scatter
    bias = scatter = 0.0
    measured = None if case.profile is None else case.profile.values.get("thickness_bias")
    if measured is not None:
        scatter = 0.5 * (measured.high - measured.low)
    elif shop.mould is not None:
        bias = MOULD_BIAS[shop.mould] if shop.mould_bias is None else shop.mould_bias
        scatter = BIAS_SCATTER[shop.mould] if shop.bias_scatter is None else shop.bias_scatter
    found = []
    for name, item, path, _ in _stated(tables):
        if item.unit not in SIZES:
            continue
        across = path.rpartition(".")[2] in ACROSS or path == "body.width"
        off = convert(bias, "m", item.unit) if across else 0.0
        number = (float(item.number) - off) * (1.0 + shrink)
        doubt = convert(scatter, "m", item.unit) if across else 0.0
        doubt = (doubt**2 + (spread * float(item.number)) ** 2) ** 0.5
        words = f"give or take {doubt:.2g} {item.unit}; shrinkage {100 * shrink:.2g} %"
        if off:
            words += f", mould bias {off:+.3g} {item.unit} across the parting plane"
        elif across and measured is not None:
            words += "; the profile's bias is in the prediction, cut as drawn"
        found.append(Parameter(f"{name}_cavity", f"{number:.4g}", item.unit, words))
    return found


def _stated(tables: dict[str, Any]) -> Iterator[tuple[str, Quantity, str, str]]:
    """Yield name, quantity, path and place along the length of every size of parts and body."""
    places = [(f"{p.get('name')}", f"parts.{p.get('name')}", p) for p in tables.get("parts", [])]
    if isinstance(tables.get("body"), dict):
        places.append(("body", "body", tables["body"]))
    for label, path, table in places:
        for key, value in table.items():
            if isinstance(value, bool) or key in ("position", "direction", "width_axis"):
                continue
            items = [item for item in quantities(value) if item.unit]
            at = value.get("at", []) if isinstance(value, dict) else []
            for count, item in enumerate(items):
                place = f"_{count + 1}" if len(items) > 1 else ""
                name = f"{label}_{key}{place}".replace("-", "_")
                where = f" at {at[count]:g} of the length" if count < len(at) else ""
                yield name, item, f"{path}.{key}", where


def _number(item: Quantity) -> str:
    return item.text.removesuffix(item.unit).strip()


def shot(case: Case) -> Shot:
    """Return what one shot of a lure's soft parts takes."""
    rigid = {"hook", *(w.name for w in case.rig.weights)} if case.rig else {"hook"}
    mass = volume = 0.0
    for record in whole_records(assemble_whole(case, assemble(case)), bands=False):
        if record.part and record.part not in rigid and isinstance(record.value, float):
            mass += record.value if record.quantity == "mass" else 0.0
            volume += record.value if record.quantity == "volume" else 0.0
    share = RUNNER_SHARE if case.shop.runner_share is None else case.shop.runner_share
    return Shot(mass, volume, case.shop.cavities, share)


def csv_text(rows: Sequence[Parameter]) -> str:
    """Return parameters as CSV: name,value,unit,comment."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["name", "value", "unit", "comment"])
    cells = ((p.name, p.value, p.unit, p.comment) for p in rows)
    writer.writerows([text_cell(cell) for cell in row] for row in cells)
    return text.getvalue()


def json_text(rows: Sequence[Parameter]) -> str:
    """Return parameters as JSON for parametric CAD: name -> value, unit, expression, comment."""
    body = {
        p.name: {
            "value": float(p.value), "unit": p.unit, "expression": f"{p.value} {p.unit}",
            "comment": p.comment,
        }
        for p in rows
    }  # fmt: skip
    return json.dumps(body, indent=2, allow_nan=False) + "\n"
