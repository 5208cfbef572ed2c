"""Study of plates: convergence of modes, panels and march; a claw as a rod and as a plate."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from simsoft.case.model import Case, LoadsInput, MaterialInput, Part, Scenario, Taper, WaterInput
from simsoft.case.read import load
from simsoft.engine.run import run
from simsoft.results.record import select
from simsoft.validate.locate import checks_directory
from simsoft.validate.plate_checks import onset_by_width, onset_limit, rectangle_coefficient
from simsoft.validate.studies.tools import demo, signed_percent, table, table_number

MESHES = (6, 12, 24)
PANELS = (36, 144, 576)
SQUARE = (3.4712, 8.5081, 21.287)  # check A14, a/b = 1
SQUARE_CARRIES = 0.57901  # check B01
CLAW_SPEED = 0.25  # [m/s]
WAKE_SPEED = 0.3  # [m/s], of the stream about the fin in its wake
WAKE_MOMENT = 0.15  # stated for that fin
WAKE_STEPS = (16.0e-3, 8.0e-3, 4.0e-3)  # [s]
STEPS = (4.0e-3, 2.0e-3, 1.0e-3)  # [s], of the march of a fin
FIN_SPEED = 0.45  # [m/s], of the stream about the fin
FIN_DAMPING = 10.0e-3  # [s], its Kelvin-Voigt time
SHARES, ALONG = (0.1, 0.05, 0.025), (40, 40, 80)  # widths over the length, elements, as D18 has
PUBLISHED_START = 0.15848  # [m/s], check D07
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
    "The start differs most: a surface as wide as this one lifts less than the slender strips of "
    "the rod and carries less water in short waves, both of which put the start off (the trend "
    "with the width is shown above), and at the reduced frequency of either start the steady wake "
    "of the plate and the strips of the rod are both beyond what they were made for. Both starts "
    "lie beyond the speeds the claw is fished at, and that is all they say. "
    "Nothing measured decides between the two; take their gap as part of the doubt."
)
WAKE = (
    f"A fin 30 x 12 x 3 mm across a stream of 0.3 m/s, given a wake moment of {WAKE_MOMENT:g}. By "
    "default a plate sheds nothing: two resolved-flow studies find next to no moment on a disc "
    "held across the stream."
)
TREND = (
    "A plate along the stream against the slender-body limit (check D07): the water is made "
    "lighter as the plate is made wider, so that slender-body theory says the same for all. The "
    "start is put off in step with the width and meets the published one where the width is gone. "
    "The rod's factor for finite span, read off first wet modes, gives a third of it: short waves "
    "carry less water than long ones; the rest is the attached flow, whose lift is that of a "
    "surface of finite span with a steady wake and not that of slender sections."
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


def steps_of_a_fin() -> list[Series]:
    """Return rate and stroke of a beating fin against the time step."""
    size, thick = Taper((0.0,), (0.024,)), Taper((0.0,), (0.8e-3,))
    stream = Scenario("stream", "retrieve", gravity=False, onset=False, speeds=(FIN_SPEED,))
    case = Case(
        title="fin along the stream",
        water=WaterInput(),
        material=MaterialInput(youngs_modulus=120e3, density=1030.0, kelvin_voigt_time=FIN_DAMPING),
        parts=(Part("fin", "strip", 0.06, size, thick, model="plate"),),
        scenarios=(stream,),
    )
    return _beats(case, STEPS)


def steps_of_a_wake() -> list[Series]:
    """Return rate and stroke of a fin across the stream in its own wake against the time step."""
    size, thick = Taper((0.0,), (0.012,)), Taper((0.0,), (3.0e-3,))
    fin = Part(
        "fin", "strip", 0.03, size, thick, direction=(0.0, 0.0, 1.0), width_axis=(0.0, 1.0, 0.0),
        model="plate", loads=LoadsInput(wake_moment=WAKE_MOMENT),
    )  # fmt: skip
    stream = Scenario("stream", "retrieve", gravity=False, onset=False, speeds=(WAKE_SPEED,))
    case = Case(
        title="fin across the stream",
        water=WaterInput(),
        material=MaterialInput(youngs_modulus=120e3, density=1030.0, loss_factor=0.16),
        parts=(fin,),
        scenarios=(stream,),
    )
    return _beats(case, WAKE_STEPS)


def _beats(case: Case, steps: Sequence[float]) -> list[Series]:
    """Return flap rate and stroke of a case's one part against the time step [s]."""
    found = []
    for step in steps:
        numerics = replace(case.numerics, elements=8, step=step)
        records = run(replace(case, numerics=numerics), bands=False).records
        found.append(
            [_number(select(records, q)[0].value) or 0.0 for q in ("flap_frequency", "stroke")]
        )
    names = ("flap rate [Hz]", "stroke [mm]")
    return [
        Series(name, tuple(scale * row[i] for row in found), None)
        for i, (name, scale) in enumerate(zip(names, (1.0, 1e3), strict=True))
    ]


def starts_by_width() -> list[list[str]]:
    """Return the start of a plate and of a rod over the published one, by width, as rows."""
    case = load(checks_directory() / "D18" / "case.toml")
    rod = replace(case, parts=tuple(replace(part, model="rod") for part in case.parts))
    plates = [speed for speed, _ in onset_by_width(case, SHARES, ALONG)]
    rods = [speed for speed, _ in onset_by_width(rod, SHARES, (80,) * len(SHARES))]
    limit = onset_limit(list(zip(SHARES, plates, strict=True)))
    rows = [
        [f"{share:g}", *(signed_percent(speed / PUBLISHED_START - 1.0) for speed in pair)]
        for share, *pair in zip(SHARES, plates, rods, strict=True)
    ]
    strips = onset_limit(list(zip(SHARES, rods, strict=True)))
    return [
        *rows,
        ["0, carried on", *(signed_percent(x / PUBLISHED_START - 1.0) for x in (limit, strips))],
    ]


def claw(model: str) -> dict[str, float | None]:
    """Return frequencies, fold-back and drag of the demo claw as a rod or a plate."""
    case = demo("claw_95")
    part = replace(case.parts[0], model=model)  # type: ignore[arg-type]
    scenarios = tuple(replace(s, march=False) for s in case.scenarios)
    records = run(replace(case, parts=(part,), scenarios=scenarios), bands=False).records
    result: dict[str, float | None] = {}
    for medium in ("air", "water"):
        for record in select(records, "natural_frequency", medium=medium):
            result[f"{medium} mode {record.at['mode']} [Hz]"] = _number(record.value)
    for quantity, unit in (("start_speed", "m/s"), ("start_frequency", "Hz")):
        found = select(records, quantity)
        result[f"{quantity.replace('_', ' ')} [{unit}]"] = _number(found[0].value)
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
                row.append(table_number(None if value is None else scale * value, 4))
        rows.append(row)
    return rows


def _number(value: object) -> float | None:
    return value if isinstance(value, float) else None


def section() -> str:
    """Return the study as Markdown."""
    square, panels = modes_of_a_square(), panels_of_a_square()
    text = (
        "## Plates\n\nMeshes and panels against converged values (checks A14 and B01), and the "
        f"step of a march: a fin 60 x 24 x 0.8 mm at {FIN_SPEED:g} m/s with a Kelvin-Voigt time of "
        f"{1e3 * FIN_DAMPING:g} ms, to its settled beat. The order is that of the last refinement; "
        "a beat counts as settled when strokes repeat within 1 %, and below that the order of a "
        "stroke says little. "
        "With a loss factor of 0.16 in place of that time the same fin has no beat of its own far "
        "past its start (at 0.5 m/s): with the material of 4.7 Hz it beats at 9.3 Hz, with that "
        "of 9.3 Hz at 4.7 Hz, and the run says so. A part that moves at two rates at once has no "
        "one Kelvin-Voigt time that stands for a loss factor.\n\n"
    )
    head = ["square cantilever, elements along", *map(str, MESHES), "exact", "order"]
    text += table(head, [series_row(series) for series in square]) + "\n"
    head = ["square, panels", *map(str, PANELS), "exact", "order"]
    text += table(head, [series_row(panels)]) + "\n"
    head = ["beating fin, step [ms]", *(f"{1e3 * step:g}" for step in STEPS), "exact", "order"]
    text += table(head, [series_row(series) for series in steps_of_a_fin()]) + "\n"
    text += f"{WAKE}\n\n"
    head = ["fin in its wake, step [ms]", *(f"{1e3 * s:g}" for s in WAKE_STEPS), "exact", "order"]
    text += table(head, [series_row(series) for series in steps_of_a_wake()]) + "\n"
    head = ["width/length", "start of the plate", "start of the rod"]
    text += f"### Start and width\n\n{TREND}\n\n" + table(head, starts_by_width()) + "\n"
    rod, plate = claw("rod"), claw("plate")
    rows = [
        [name, table_number(rod.get(name), 4), table_number(value, 4)]
        for name, value in plate.items()
        if name in rod
    ]
    return (
        f"{text}### The demo claw as a rod and as a plate\n\n{WHY}\n\n"
        + table(["", "rod", "plate"], rows)
        + "\n"
        + table(_APART, taken_apart())
    )


def series_row(series: Series) -> Sequence[str]:
    """Return a series as a row of a table."""
    return [
        series.name,
        *(table_number(value, 5) for value in series.values),
        table_number(series.exact, 5),
        table_number(series.order, 2),
    ]
