"""Open rows of tails and baits marched by the reduced model with coefficients as they are tried.

Each row takes the rod of its resolved run: one modulus, one damping, one number of lengths, so that
the water alone differs. Rate, fold-back, swings of the paddle and drag are held against what the
resolved flow found: on 36 cells where a row was run there. Rows that were run on 24 cells alone
are taken as much wider as the others became on 36, and count less.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from compare import baits, plain_tails
from jobs import HERE, Row, bait_case, job_of, overrides_of
from tables import MOVES, Table, best, grid_factors, value

from simsoft.bodies.rod.equilibrium import make_stream, rest_branch
from simsoft.bodies.rod.time_march import march_rod
from simsoft.case.model import Case
from simsoft.case.read import load
from simsoft.cli.resolve import scenario_of
from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.lure.rod_model import build_rod
from simsoft.lure.shading import SOFT_SHARE
from simsoft.mechanics.rod import Rod
from simsoft.resolved.job import Job
from simsoft.solvers.limit_cycle import beat_of_march

FOLDED = 40.0  # [deg] baits that lean farther hang in the stream more than they beat: left out
ALONG = np.array([1.0, 0.0, 0.0])
SPEEDS = 8  # up to a row's, on the way to its rest shape
STILL = 0.05  # [D] stroke below which a march has no rate to speak of
# What a deviation of one weighs: of the rate's logarithm, fold-back [deg], swings [D], the stroke's
# logarithm, drag [q A].
RATE, FOLD, SWING, STROKE, DRAG = 0.08, 3.0, 0.15, 0.22, 0.1
WRONG = 1.0  # of a row that beats in one of the two alone
LIMITS = np.array([2.5, 3.0, 4.0, 4.0, 4.0, 3.0])  # no row counts more, however far it is off
FAILED = 3.0  # of all numbers of a row whose march fails
COARSE = {"bait": 0.6, "tail": 0.9}  # weights of those that were run on 24 cells alone


@dataclass(frozen=True)
class Kind:
    """How rows of a kind are marched and weighed.

    Attributes
    ----------
    beat : float [U/D], expected
    longest : float [D/U], of a march
    kick : float, multiple of the standard disturbance
    weights : array (6,), of rate, fold-back, sway, heave, stroke and drag
    """

    beat: float
    longest: float
    kick: float
    weights: Array


# The stroke of a tail says what its swings say; its drag is the stem's too.
KINDS = {
    "bait": Kind(0.16, 70.0, 1.0, np.array([1.0, 1.0, 0.7, 0.7, 1.0, 0.5])),
    "tail": Kind(0.22, 90.0, 4.0, np.array([0.7, 0.5, 0.0, 0.0, 0.7, 0.3])),
}


@dataclass(frozen=True)
class Marched:
    """An open row, ready to be marched.

    Attributes
    ----------
    name : str
    kind : Kind
    job : Job, of the resolved run
    specimen : Specimen, of which the paddle and the water that goes along are taken
    loss : float, share of the stream's pressure that a stiff body would take
    soft : bool, whether the body is soft behind its hook, so that a part of it is lost alone
    seen : array (6,), what the resolved flow found: f D/U, fold-back [deg], sway, heave, stroke [D]
        and drag over q A
    weight : float
    """

    name: str
    kind: Kind
    job: Job
    specimen: Specimen
    loss: float
    soft: bool
    seen: Array
    weight: float


SEEN = ("strouhal", "fold_back_deg", "sway_d", "heave_d", "stroke_d", "drag")


def open_rows(results: Table) -> list[Marched]:
    """Return the open tails and baits that set coefficients."""
    return [*_of_kind("tail", plain_tails(), results), *_of_kind("bait", baits(), results)]


def _of_kind(kind: str, rows: Iterator[Row], results: Table) -> Iterator[Marched]:
    truth, wider = best(results), grid_factors(results, kind)
    for row in rows:
        name = row["run"]
        if row["sealed"] == "1" or name not in results:
            continue
        seen = np.array([value(truth[name][column]) for column in SEEN])
        coarse = truth[name] is results[name]
        if coarse:
            stroke = wider["stroke_d"]
            seen *= [wider["strouhal"], 1.0, stroke, stroke, stroke, wider["drag"]]
        if kind == "tail" or seen[1] < FOLDED:
            case = bait_case(row) if kind == "bait" else _tail_case(row)
            yield _marched(row, case, KINDS[kind], seen, COARSE[kind] if coarse else 1.0)


def _tail_case(row: Row) -> Case:
    return load(HERE / "tail.toml", overrides_of(row))


def _marched(row: Row, case: Case, kind: Kind, seen: Array, weight: float) -> Marched:
    job, _ = job_of(row)
    assert job.rod is not None
    lure = assemble(case)
    strip, gravity = lure.strips[0], scenario_of(case, row["run"]).gravity
    values, count = values_of(strip), len(job.rod.length)
    specimen = Specimen(strip, lure.water, values, gravity=gravity, elements=count)
    soft = strip.part.soft_ahead > 0.0
    loss = (1.0 - values.get("shading", 1.0) ** 2) / (SOFT_SHARE.value if soft else 1.0)
    return Marched(row["run"], kind, job, specimen, loss, soft, seen, weight)


def rod_with(row: Marched, coefficients: dict[str, float]) -> Rod:
    """Return the rod of a row's resolved run, its paddle's load by the coefficients."""
    stated = row.specimen
    tried = build_rod(replace(stated, values=stated.values | coefficients))
    assert row.job.rod is not None
    return row.job.rod._replace(paddle=tried.paddle, fluid=tried.fluid)


def found(row: Marched, coefficients: dict[str, float]) -> Array:
    """Return what the reduced model finds (6,), in the order of ``SEEN``; NaN where it fails.

    ``coefficients`` are those of a paddle, and ``soft_share`` of ``simsoft/lure/shading.py``.
    """
    job, rod, kind = row.job, rod_with(row, coefficients), row.kind
    size, speed = job.size, job.pace
    share = coefficients["soft_share"] if row.soft else 1.0
    stream = math.sqrt(1.0 - share * row.loss) * ALONG
    try:
        rest = rest_branch(rod, np.linspace(0.1 * speed, speed, SPEEDS), stream)[-1].angle
        march = march_rod(
            rod, make_stream(speed, stream), rest, frequency=kind.beat * speed / size,
            longest=kind.longest * size / speed, kick=kind.kick,
        )  # fmt: skip
        beat = beat_of_march(ALONG, march, ALONG)
    except SolveError:
        return np.full(6, math.nan)
    first, last = march.window
    swing = np.ptp(march.tip[first:last], axis=0) / size
    pressure = 0.5 * job.density * speed**2 * math.pi * size**2 / 4.0
    return np.array([
        beat.frequency * size / speed, math.degrees(beat.fold_back), swing[1], swing[2],
        beat.stroke / size, beat.drag / pressure,
    ])  # fmt: skip


def misfit(row: Marched, coefficients: dict[str, float]) -> Array:
    """Return the residuals of one row (6,)."""
    ours, theirs = found(row, coefficients), row.seen
    if not math.isfinite(ours[1]):
        return row.weight * np.full(6, FAILED)
    apart = np.nan_to_num((ours - theirs) / np.array([RATE, FOLD, SWING, SWING, SWING, DRAG]))
    here, there = ours[4] > STILL, theirs[4] > MOVES
    apart[0] = 0.0
    if here != there:
        apart[0] = WRONG
    elif here:
        apart[4] = math.log(ours[4] / theirs[4]) / STROKE
        if min(ours[0], theirs[0]) > 0.0:
            apart[0] = math.log(ours[0] / theirs[0]) / RATE
    return np.asarray(row.weight * row.kind.weights * np.clip(apart, -LIMITS, LIMITS))


def misfit_of_rows(rows: list[Marched], coefficients: dict[str, float]) -> Array:
    """Return the residuals of all rows, marched side by side."""
    with ThreadPoolExecutor(os.cpu_count()) as several:
        parts = several.map(lambda row: misfit(row, coefficients), rows)
        return np.concatenate([np.zeros(0), *parts])
