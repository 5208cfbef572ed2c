"""A resolved run as records: values, their bands, and what they rest on."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from simsoft.resolved.job import Job, Settings
from simsoft.resolved.measure import MeasuredBeat, beat_of, word_of
from simsoft.resolved.pieces import CLAMP, in_cells
from simsoft.resolved.run import Point, first_rows
from simsoft.resolved.sheet import moulded_tip, tip_path
from simsoft.results.record import Record, missing

Change = tuple[float, float]
TWICE = 2.0  # standard errors on either side
STILL_TO_GO = 2.0  # differences from two thirds of the cells to all, up to a grid without error
NEVER_NEGATIVE = ("stroke", "flap_frequency", "fold_back", "side_force")


class Trust(NamedTuple):
    """By what factors a finer grid moves the numbers of a grid, low and high.

    Set by the same tails at 16, 24 and 36 cells (``validation/RESOLVED.md``); what barely moves
    on a coarse grid may beat on a finer one, up to ``hidden`` sizes.
    """

    rate: Change
    stroke: Change
    fold_back: float
    load: Change
    weak: float
    hidden: float


# Computed here: runs grid-*, fine-* and their partners of validation/resolved/results.csv.
TRUST = {
    12: Trust((0.85, 1.20), (0.8, 2.0), 4.0, (0.9, 1.3), 0.4, 0.6),
    24: Trust((0.95, 1.10), (0.9, 1.3), 2.0, (0.95, 1.15), 0.3, 0.45),
    36: Trust((0.97, 1.05), (0.95, 1.15), 1.5, (0.97, 1.08), 0.2, 0.35),
}


def trust_of(cells: int) -> Trust:
    """Return how far the numbers of a grid may be off: that of the next coarser one known."""
    return TRUST[max((known for known in TRUST if known <= cells), default=min(TRUST))]


def beat_in(job: Job, point: Point) -> MeasuredBeat:
    """Return the beat of a run.

    What is watched is the last solid that rides on the rod, of a sheet the middle of its tip.
    """
    history = first_rows(point.history, point.row)
    ridden = np.flatnonzero(job.pieces.link != CLAMP)
    watched = int(ridden[-1])
    path = history.centre[:, watched]
    moulded = np.zeros(3) if job.rod is None else job.rod.frame[:, 2]
    half_width = float(job.pieces.forms[watched, 1])
    if job.sheet is not None:
        path = tip_path(job.sheet, job.pieces, history.centre, history.axes)
        moulded, half_width = moulded_tip(job.sheet), 0.0
    return beat_of(
        history.time,
        path,
        history.axes[:, watched],
        history.tangent,
        history.load[:, ridden, :3].sum(axis=1),
        moulded,
        half_width,
    )


def _size_of(job: Job) -> str:
    """Return what the cells of a grid are counted across."""
    return "a diameter" if job.sheet is None else "a width"


def basis_of(job: Job, settings: Settings) -> str:
    """Return what the numbers of a run rest on."""
    told = (
        f"resolved flow, {settings.cells} cells {_size_of(job)}, Re {job.reynolds:.0f}, "
        "screening: a flow code is not water"
    )
    if job.sheet is None:
        return told
    cell = job.size / settings.cells
    drawn = 2.0 * float(in_cells(job.pieces, cell)[0][:, 3].min()) * cell
    return (
        f"{told}; a plate that stands {1e3 * drawn:.1f} mm thick in the flow at the least, its "
        "bands those of tails, its forces down to those of its own thickness"
    )


def own_share(job: Job, settings: Settings) -> float:
    """Return the least thickness of a sheet's slabs over that with which they are drawn."""
    if job.sheet is None:
        return 1.0
    cell = job.size / settings.cells
    return float((job.pieces.forms[:, 3] / (in_cells(job.pieces, cell)[0][:, 3] * cell)).min())


def records_of(
    scenario: str, job: Job, settings: Settings, beat: MeasuredBeat, at: dict[str, float]
) -> list[Record]:
    """Return the records of a run in SI units, angles in degrees.

    A band holds two standard errors of the beats seen and what a finer grid is known to change.
    """
    trust, basis, name = trust_of(settings.cells), basis_of(job, settings), job.name
    word = word_of(beat, job.size)
    found: list[Record] = []

    def put(quantity: str, value: float, low: float, high: float, unit: str) -> None:
        found.append(Record(scenario, name, quantity, value, low, high, unit, basis, dict(at)))

    weak = beat.stroke < trust.weak * job.size
    low, high = trust.stroke
    spread = TWICE * beat.stroke_error
    top = max(high * beat.stroke, trust.hidden * job.size if weak else 0.0) + spread
    put("stroke", beat.stroke, max(0.0, low * beat.stroke - spread), top, "m")
    if word == "still" or beat.beats < 2:
        reason = "no beat on this grid: " + (
            "it is still" if word == "still" else "it moves, but under two beats long"
        )
        found.append(missing(scenario, name, "flap_frequency", "Hz", basis, reason, **at))
    else:
        spread = TWICE * beat.frequency_error
        low, high = trust.rate
        put(
            "flap_frequency", beat.frequency, max(0.0, low * beat.frequency - spread),
            high * beat.frequency + spread, "Hz",
        )  # fmt: skip
    put(
        "fold_back", beat.fold_back, max(0.0, beat.fold_back - trust.fold_back),
        beat.fold_back + trust.fold_back, "deg",
    )  # fmt: skip
    for quantity, value in (("drag", beat.drag), ("side_force", beat.side_force)):
        low, high = sorted((trust.load[0] * value, trust.load[1] * value))
        low = min(low, own_share(job, settings) * value)
        put(quantity, value, low, high, "N")
    return found


def with_coarser(records: list[Record], other: list[Record], cells: int) -> list[Record]:
    """Return the records with bands that hold what a coarser grid of ``cells`` leaves open.

    With two thirds of the cells and an error of first order, a number that has no grid left lies
    twice the difference beyond the finer one; as far on the other side lies the coarser one. A
    number that only one grid has stays as it is, and its basis says so.
    """
    known = {record.quantity: record for record in other}
    found = []
    for record in records:
        coarse = known.get(record.quantity)
        basis = f"{record.basis}; beside {cells} cells"
        if isinstance(record.value, float) and coarse and isinstance(coarse.value, float):
            step = record.value - coarse.value
            ends = (record.value - step, record.value + STILL_TO_GO * step)
            low, high = (x for x in (record.low, record.high) if x is not None)
            least = min(low, *ends)
            if record.quantity in NEVER_NEGATIVE:
                least = max(0.0, least)
            record = replace(record, low=least, high=max(high, *ends), basis=basis)
        else:
            told = "no number there" if coarse is None or coarse.value is None else "it beats there"
            record = replace(record, basis=f"{basis}: {told}")
        found.append(record)
    return found


def sentence_of(job: Job, settings: Settings, beat: MeasuredBeat, speed: float) -> str:
    """Return what a tail does at a speed [m/s] in one line."""
    word = word_of(beat, job.size)
    trust = trust_of(settings.cells)
    if word == "beats":
        rate = f", {beat.frequency:.1f} Hz, stroke {1e3 * beat.stroke:.1f} mm"
        return f"{job.name} beats at {speed:g} m/s{rate}"
    more = f" on {settings.cells} cells {_size_of(job)}; on a finer grid it may beat"
    if beat.stroke >= trust.weak * job.size:
        more = ""
    return f"{job.name} {'is still' if word == 'still' else 'stirs'} at {speed:g} m/s{more}"
