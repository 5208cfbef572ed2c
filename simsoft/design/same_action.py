"""Resize: the action of one case as the brief of another, start and beat, sample by sample."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from simsoft.case.read import from_tables
from simsoft.core.errors import InputError
from simsoft.design.sweep.row import DONE
from simsoft.design.sweep.run import Runner, solve_designs
from simsoft.design.sweep.runs import RunSpec
from simsoft.design.sweep.table import filed_records
from simsoft.design.sweep.task import BaseCase
from simsoft.results.record import Record

ALIKE = 0.10  # relative difference that a hand does not feel (judgement)
ACTION = ("start_speed", "flap_frequency")


def with_same_action(
    model: BaseCase, changed: BaseCase, directory: Path, runner: Runner
) -> BaseCase:
    """Return the changed case with the model's start speed and beats for its brief.

    The model is the bait in hand: each sample is told against the same sample of it.

    Raises
    ------
    InputError
        The model could not be run or has no action to keep.
    """
    spec = RunSpec()
    rows = solve_designs(model, [spec], [()], "full", directory, runner)[0]
    if rows[0].status != DONE:
        raise InputError(f"{model.name}: cannot be run; {rows[0].reason}")
    case = from_tables(model.tables, model.text, model.name)
    speeds = {s.name: s.speeds for s in case.scenarios}
    wanted = [
        _clause(record)
        for record in filed_records(rows, [None])
        if record.quantity in ACTION and isinstance(record.value, float)
        and speeds.get(record.scenario)
    ]  # fmt: skip
    if not wanted:
        raise InputError(f"{model.name}: has no start speed or beat to keep; add a retrieve")
    return replace(changed, tables=changed.tables | {"brief": wanted})


def _clause(record: Record) -> dict[str, Any]:
    """Return the wish for a number as the bait in hand has it, with whatever was seen of that."""
    clause: dict[str, Any] = {
        "quantity": record.quantity,
        "scenario": record.scenario,
        "part": record.part,
        "same_as": "base",
        "within": ALIKE,
    }
    if "speed" in record.at:
        clause["speed"] = f"{record.at['speed']:.9g} m/s"
    return clause
