"""Study of plates: convergence of modes, panels and march; a claw as a rod and as a plate."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from simsoft.case.model import Case, MaterialInput, Part, Scenario, Taper, WaterInput
from simsoft.engine import run
from simsoft.record import select
from simsoft.validate.plate_checks import rectangle_coefficient
from simsoft.validate.study_tools import demo, show, table

MESHES = (6, 12, 24)
PANELS = (36, 144, 576)
SQUARE = (3.4712, 8.5081, 21.287)  # check A14, a/b = 1
SQUARE_CARRIES = 0.57901  # check B01
CLAW_SPEED = 0.25  # [m/s]
STRIP_DRAG = 1.95  # [-], the rod's default
_APART = [
    "attached flow",
    "C_d",
    *(f"{m} {q}" for m in ("rod", "plate") for q in ("[deg]", "[mN]")),
]
WHY = (
    "First modes agree because the rod's finite-span factor and its blend of beam and plate "
    "stiffness are fitted to clamped plates; higher modes differ because the rod neither cups nor "
    "warps and carries one added-mass factor in all of them. In the stream, the second table takes "
    "the differences apart: with one drag coefficient and the attached flow off, what is left is "
    "mesh and plate bending. The coefficients differ (that of the claw's own aspect ratio against "
    "that of a long strip), and the attached flow acts the other way: elongated-body theory along "
    "the rod's middle line lowers drag and fold-back, the plate's lifting surface raises the drag. "
    "Nothing measured decides between the two; take their gap as part of the doubt."
)


@dataclass(frozen=True)
class Series:
    """Values on ever finer grids, the exact or the finest one, and the observed order."""

    name: str
    values: tuple[float, ...]
    exact: float | None

    @property
    def order(self) -> float:
        """Observed order [-] of the last refinement, from differences where nothing is exact."""
        if self.exact is not None:
            errors = [abs(value - self.exact) for value in self.values]
            return math.log2(errors[-2] / errors[-1])
        first, second = self.values[-2] - self.values[-3], self.values[-1] - self.values[-2]
        return math.log2(abs(first / second))


def modes_of_a_square() -> list[Series]:
    """Return the first dry eigenvalues of a thin square cantilever against the mesh."""
    found = [_square_modes(count) for count in MESHES]
    return [
        Series(f"mode {i + 1}", tuple(row[i] for row in found), exact)
        for i, exact in enumerate(SQUARE)
    ]


def _square_modes(elements: int) -> list[float]:
    """Return omega a^2 sqrt(rho h/D) of a square 1 m wide and 5 mm thick, nu = 0.3."""
    modulus, density, thickness = 1.0e9, 1000.0, 5.0e-3
    size = Taper((0.0,), (1.0,))
    part = Part("plate", "strip", 1.0, size, Taper((0.0,), (thickness,)), model="plate")
    case = Case(
        title="square plate",
        water=WaterInput(),
        material=MaterialInput(
            youngs_modulus=modulus, poisson_ratio=0.3, density=density, loss_factor=0.0
        ),
        parts=(part,),
        scenarios=(Scenario("free", "hold", gravity=False),),
    )
    case = replace(case, numerics=replace(case.numerics, elements=elements))
    scale = 2.0 * math.pi * math.sqrt(12.0 * 0.91 * density / modulus) / thickness
    found = select(run(case, bands=False).records, "natural_frequency", medium="air")
    return [scale * float(record.value) for record in found if isinstance(record.value, float)]


def panels_of_a_square() -> Series:
    """Return the added mass of a square against its panels."""
    values = tuple(rectangle_coefficient(1.0, count) for count in PANELS)
    return Series("C_A of a square", values, SQUARE_CARRIES)


def claw(model: str) -> dict[str, float | None]:
    """Return frequencies, fold-back and drag of the demo claw as a rod or a plate."""
    case = demo("claw_95")
    part = replace(case.parts[0], model=model)  # type: ignore[arg-type]
    scenarios = tuple(replace(s, onset=False, march=False) for s in case.scenarios)
    records = run(replace(case, parts=(part,), scenarios=scenarios), bands=False).records
    result: dict[str, float | None] = {}
    for medium in ("air", "water"):
        for record in select(records, "natural_frequency", medium=medium):
            result[f"{medium} mode {record.at['mode']} [Hz]"] = _number(record.value)
    for quantity, unit, scale in (("tip_angle", "deg", 1.0), ("drag", "mN", 1e3)):
        for record in select(records, quantity):
            value = _number(record.value)
            name = f"{quantity.replace('_', ' ')} at {record.at['speed']:g} m/s [{unit}]"
            result[name] = None if value is None else scale * value
    return result


def taken_apart() -> list[list[str]]:
    """Return tip angle and drag of the claw with attached flow and drag made equal, as rows."""
    case = demo("claw_95")
    stream = tuple(
        replace(s, onset=False, march=False, speeds=(CLAW_SPEED,))
        for s in case.scenarios
        if s.kind == "retrieve"
    )
    rows = []
    for attached, drag in ((True, None), (True, STRIP_DRAG), (False, STRIP_DRAG)):
        row = ["on" if attached else "off", "own" if drag is None else f"{drag:g}"]
        for model in ("rod", "plate"):
            part = case.parts[0]
            loads = replace(part.loads, reactive=attached, normal_drag=drag)
            part = replace(part, model=model, loads=loads)  # type: ignore[arg-type]
            found = run(replace(case, parts=(part,), scenarios=stream), bands=False).records
            for quantity, scale in (("tip_angle", 1.0), ("drag", 1e3)):
                value = _number(select(found, quantity)[0].value)
                row.append(show(None if value is None else scale * value, 4))
        rows.append(row)
    return rows


def _number(value: object) -> float | None:
    return value if isinstance(value, float) else None


def section() -> str:
    """Return the study as Markdown."""
    square, panels = modes_of_a_square(), panels_of_a_square()
    text = (
        "## Plates\n\nMeshes and panels against converged values (checks A14 and B01); the order "
        "is that of the last refinement.\n\n"
    )
    head = ["square cantilever, elements along", *map(str, MESHES), "exact", "order"]
    text += table(head, [_row(series) for series in square]) + "\n"
    head = ["square, panels", *map(str, PANELS), "exact", "order"]
    text += table(head, [_row(panels)]) + "\n"
    rod, plate = claw("rod"), claw("plate")
    rows = [
        [name, show(rod.get(name), 4), show(value, 4)]
        for name, value in plate.items()
        if name in rod
    ]
    return (
        f"{text}### The demo claw as a rod and as a plate\n\n{WHY}\n\n"
        + table(["", "rod", "plate"], rows)
        + "\n"
        + table(_APART, taken_apart())
    )


def _row(series: Series) -> Sequence[str]:
    return [
        series.name,
        *(show(value, 5) for value in series.values),
        show(series.exact, 5),
        show(series.order, 2),
    ]
