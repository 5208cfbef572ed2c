"""Study of paddles that bend on their stems: convergence, and against the stiff paddle."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Literal

from simsoft.case.model import Case
from simsoft.engine.run import run
from simsoft.results.record import Record, select
from simsoft.validate.studies.plates import Series, series_row
from simsoft.validate.studies.tools import demo, table, table_number

SPEED = 0.6  # [m/s]
MESHES = (12, 24, 48)  # elements along the stem and around the paddle
STEPS = (2.4e-3, 1.2e-3, 0.6e-3)  # [s]
THIN = 1.2e-3  # [m], of a paddle that bends well
LEAN = 4.4  # [deg], between its mean normal and that of its root at that speed
At = dict[str, float | int | str]
QUANTITIES: tuple[tuple[str, At, str, float], ...] = (
    ("natural_frequency", {"mode": 1, "medium": "water"}, "first wet mode [Hz]", 1.0),
    ("rim_deflection", {"speed": SPEED}, "rim gives way at rest [mm]", 1e3),
    ("fold_back", {"speed": SPEED}, "fold-back [deg]", 1.0),
    ("flap_frequency", {"speed": SPEED}, "rate [Hz]", 1.0),
    ("stroke", {"speed": SPEED}, "stroke [mm]", 1e3),
    ("drag", {"speed": SPEED}, "drag [mN]", 1e3),
    ("start_speed", {}, "start [m/s]", 1.0),
)
TEXT = (
    'The demo kicker with its paddle as a plate (`model = "plate"`) in a stream of '
    f"{SPEED:g} m/s. The plate's loads are those of the stiff paddle laid over it, so a stiff "
    "plate gives the stiff paddle's answers (tests/bodies/paddle/test_stem.py: rate to 1 %, stroke "
    "to 2 %); what is shown beyond that is the bending alone."
)
CORNERS = (
    "A thin paddle held on a patch with re-entrant corners converges with about the first power of "
    "the mesh: its bending is singular there (at a clamped corner of 270 degrees with the exponent "
    "0.54, which gives 1.1; Williams 1951, from memory). At the default of 12 elements fold-back "
    "and rate of this one are 1 to 2 % short, and how far its rim gives way by 6 % or more."
)
WHY = (
    "The stem holds the plate above its middle, so the longer lower side gives way more: the plate "
    f"leans back as a whole, at {1e3 * THIN:g} mm by {LEAN:g} degrees. A stiff paddle set leaning "
    "by that much, the last column, has its fold-back, rate and drag within 2 %; start and stroke "
    "it has not, they are what the plate's own bending under the water's moment adds. At the usual "
    "3 mm all of it stays within 2 %: the stiff paddle is good there. Loads of a plate that cups "
    "far are those of a flat one, a judgement; the run warns."
)


def bending(
    thickness: float | None = None,
    model: Literal["rod", "plate"] = "plate",
    elements: int | None = None,
    step: float | None = None,
    onset: bool = False,
    lean: float = 0.0,
) -> list[float | None]:
    """Return ``QUANTITIES`` of the demo kicker.

    Parameters
    ----------
    thickness : float or None [m], of the paddle; None for the demo's own
    model : 'rod' for a stiff paddle, 'plate' for one that bends
    elements, step : int, float [s] or None, see the case's ``numerics``
    onset : bool, search the start as well
    lean : float [deg], taken off the paddle's angle
    """
    case = demo("paddle_100")
    part = replace(case.parts[0], model=model)
    if thickness is not None and part.paddle is not None:
        part = replace(part, paddle=replace(part.paddle, thickness=thickness))
    if part.paddle is not None:
        angle = part.paddle.angle - math.radians(lean)
        part = replace(part, paddle=replace(part.paddle, angle=angle))
    scenarios = tuple(
        replace(s, onset=onset, speeds=(SPEED,)) if s.kind == "retrieve" else s
        for s in case.scenarios
    )
    numerics = replace(case.numerics, elements=elements, step=step)
    moved: Case = replace(case, parts=(part,), scenarios=scenarios, numerics=numerics)
    records = run(moved, bands=False).records
    return [_number(records, q, at, scale) for q, at, _, scale in QUANTITIES]


def _number(records: tuple[Record, ...], quantity: str, at: At, scale: float) -> float | None:
    for record in select(records, quantity, **at):
        if isinstance(record.value, float) and "state" not in record.at:
            return scale * record.value
    return None


def _series(rows: list[list[float | None]]) -> list[Series]:
    return [
        Series(name, tuple(row[i] or 0.0 for row in rows), None)
        for i, (_, _, name, _) in enumerate(QUANTITIES[:-1])
        if all(row[i] for row in rows)
    ]


def section() -> str:
    """Return the study as Markdown."""
    meshes = _series([bending(THIN, elements=count) for count in MESHES])
    steps = _series([bending(THIN, elements=8, step=step) for step in STEPS])
    head = [f"paddle {1e3 * THIN:g} mm, elements", *map(str, MESHES), "exact", "order"]
    text = f"## Paddles that bend\n\n{TEXT}\n\n" + table(head, [series_row(s) for s in meshes])
    text += f"\n{CORNERS}\n"
    text += "\nThe march is of second order in the step (the same test); its measures hang on it "
    text += "less:\n\n"
    names = ("rate [Hz]", "stroke [mm]")
    text += table(
        ["the same, step [ms]", *(f"{1e3 * step:g}" for step in STEPS)],
        [series_row(series)[:-2] for series in steps if series.name in names],
    )
    columns = [
        bending(thick, model, onset=True) for thick in (None, THIN) for model in ("rod", "plate")
    ]
    columns.append(bending(THIN, "rod", onset=True, lean=LEAN))
    rows = [
        [name, *(table_number(column[i], 4) for column in columns)]
        for i, (_, _, name, _) in enumerate(QUANTITIES)
    ]
    thin = f"{1e3 * THIN:g} mm"
    head = ["", "3 mm, stiff", "3 mm, bends", f"{thin}, stiff", f"{thin}, bends"]
    head.append(f"{thin}, stiff, leans")
    return f"{text}\n### Stiff and bending\n\n{WHY}\n\n" + table(head, rows)
