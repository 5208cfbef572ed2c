"""A row of the designs as a job of the resolved flow."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
from soft_baits import CASES

from simsoft.case.model import BodyInput, Case, Taper
from simsoft.case.read import load
from simsoft.cli.resolve import job_at, scenario_of, strip_of
from simsoft.lure.parts import assemble, values_of
from simsoft.resolved.choose import LIGHT, LONG_MEMORY
from simsoft.resolved.job import Job, Path3, Settings
from simsoft.resolved.pieces import CLAMP, form, no_pieces, with_piece
from simsoft.resolved.solids import BOX, CYLINDER, DISC, ELLIPSOID, Form
from simsoft.resolved.tail import EDGE, tail_job

HERE = Path(__file__).parent
ELEMENTS = 10
LOSS_FACTOR = 0.16  # of tail.toml, taken at a beat of BEAT
BEAT = 0.2  # [U/D]
DIAMETER = 0.015  # [m]
# Largest width and height [m] of the bodies ahead, and the share of it that is left at the tail.
BODIES = {"slim": (0.009, 0.012, 0.35), "deep": (0.013, 0.022, 0.25), "blunt": (0.013, 0.017, 0.8)}
BODY_LENGTH = 0.06  # [m]
OFF_GRID = np.array([0.013, 0.009, 0.006])  # [diameter] so that no solid is symmetric on the grid
HUNG = 0.4  # [diameter] from a rolling disc's axis down to its centre
PLUCK = 0.4  # [rad pace/size] rate of the first hinge of a tail that rings down
PUSH = 8.0  # times the usual one, of a bait: its beat need not grow first

Row = dict[str, str]


def designs() -> list[Row]:
    """Return the rows of ``designs.csv``."""
    with (HERE / "designs.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def body_of(name: str) -> BodyInput | None:
    """Return a body ahead of the tail: round at the nose, widest at 0.35, tapered to the stem."""
    if not name:
        return None
    width, height, left = BODIES[name]
    at = (0.0, 0.05, 0.15, 0.35, 0.6, 0.8, 1.0)
    share = (0.15, 0.5, 0.82, 1.0, 0.5 + 0.5 * max(left, 0.7), 0.35 + 0.65 * left, left)
    return BodyInput(
        "swim-bait",
        BODY_LENGTH,
        height=Taper(at, tuple(height * s for s in share)),
        width=Taper(at, tuple(width * s for s in share)),
    )


def settings_of(row: Row) -> Settings:
    """Return grid and length of a row's run."""
    cells = int(row["cells"])
    values: dict[str, float] = {
        "cells": cells,
        "across": float(row["across"]),
        "longest": float(row["longest"]),
        "stride": max(2, round(5 * cells / 24)),
        "hold": 6.0 if row["family"] == "solid" else 4.0,
    }
    stated = (word.split("=") for word in row["grid"].split())
    return Settings(**values | {name: float(value) for name, value in stated})  # type: ignore[arg-type]


def overrides_of(row: Row) -> list[str]:
    """Return what a row changes in its case."""
    return [word.strip() for word in row["set"].split(";") if word.strip()]


def bait_case(row: Row) -> Case:
    """Return the case of a bait at the row's speed."""
    speed = f'["{row["speed_mps"]} m/s"]'
    case = load(CASES[row["body"]], overrides_of(row))
    name = scenario_of(case, row["body"]).name
    return load(CASES[row["body"]], [*overrides_of(row), f"scenarios.{name}.speed={speed}"])


def bait_of(row: Row) -> Job:
    """Return the job of a bait, as ``simsoft resolve`` makes it but pushed harder."""
    case = bait_case(row)
    strip, water = strip_of(case, row["run"])
    speed = float(row["speed_mps"])
    job = job_at(case, strip, water, scenario_of(case, row["run"]), speed)
    return job._replace(name=row["run"], rate=PUSH * job.rate)


def tail_of(row: Row) -> Job:
    """Return the job of a tail."""
    case = load(HERE / "tail.toml", overrides_of(row))
    lure = assemble(case)
    strip = lure.strips[0]
    values = values_of(strip)
    speed = float(row["speed_mps"])
    job = tail_job(
        strip,
        lure.water,
        values,
        speed=speed,
        modulus=values["modulus"],
        damping_time=LOSS_FACTOR / (2.0 * math.pi * BEAT * speed / DIAMETER),
        gravity=False,
        body=body_of(row["body"]),
        elements=ELEMENTS,
    )
    if row["motion"] == "ring-down":
        rate = job.rate.copy()
        rate[0, 1] = PLUCK * speed / DIAMETER
        job = job._replace(speed=0.0, rate=rate)
    return job._replace(name=row["run"], viscosity=speed * job.size / float(row["reynolds"]))


def solid_of(words: list[str]) -> Form:
    """Return a solid of diameter ``DIAMETER``; the second word is a plate's thickness over it."""
    radius = 0.5 * DIAMETER
    kind, share = words[0], float(words[1]) if len(words) > 1 else 1.0
    half = share * radius
    if kind == "ball":
        return form(ELLIPSOID, radius, radius, radius)
    if kind == "cylinder":
        return form(CYLINDER, radius, radius, radius)
    solid = {"disc": DISC, "plate": BOX}[kind]
    return form(solid, radius, radius, half, EDGE * 2.0 * half)


def solid_job(row: Row) -> Job:
    """Return the job of a stiff solid that is held or forced; plates stand square at no yaw."""
    speed = float(row["speed_mps"])
    solid = solid_of(row["set"].split())
    stated, _, leant = row["motion"].partition(" lean ")
    word, *numbers = stated.split()
    lean = math.radians(float(leant or 0.0))
    back = np.array(
        [[math.cos(lean), 0.0, -math.sin(lean)], [0, 1.0, 0], [math.sin(lean), 0, math.cos(lean)]]
    )
    square = back @ np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    if row["set"].startswith("cylinder"):
        square = np.eye(3)
    yaw = math.radians(float(numbers[0])) if word == "held" else 0.0
    turned = np.array(
        [[math.cos(yaw), -math.sin(yaw), 0.0], [math.sin(yaw), math.cos(yaw), 0.0], [0, 0, 1.0]]
    )
    place = OFF_GRID * DIAMETER
    pieces = with_piece(no_pieces(), solid, CLAMP, place, turned @ square)
    still = word.startswith("still-")
    forced = None
    if word != "held":
        rate, size = (float(x) for x in numbers)
        sway, turn, pivot = np.zeros(3), np.zeros(3), place.copy()
        if word in ("surge", "still-surge"):
            sway[0] = size * DIAMETER
        elif word in ("sway", "heave"):
            sway[1 if word == "sway" else 2] = size * DIAMETER
        elif word == "roll":
            turn[0] = size
            pivot[2] += HUNG * DIAMETER
        else:
            turn[2] = size
            pivot[0] -= 0.55 * DIAMETER if word == "rock" else 0.0
        forced = Path3(rate * speed / DIAMETER, sway, turn, pivot)
    return Job(
        name=row["run"], pieces=pieces, rod=None, shape=np.zeros((0, 4)), rate=np.zeros((0, 3)),
        forced=forced, speed=0.0 if still else speed, pace=speed, size=DIAMETER, density=998.0,
        viscosity=speed * DIAMETER / float(row["reynolds"]), centre=np.zeros(3),
        ramp=np.zeros((0, 2)),
    )  # fmt: skip


def job_of(row: Row) -> tuple[Job, Settings]:
    """Return job and settings of a row."""
    settings = settings_of(row)
    if row["family"] == "solid":
        return solid_job(row), settings
    job = bait_of(row) if row["family"] == "bait" else tail_of(row)
    if row["motion"].startswith("ramp"):
        knots = np.array([float(x) for x in row["motion"].split()[1:]]).reshape(-1, 2)
        job = job._replace(ramp=knots)
    assert job.rod is not None
    mass = job.rod.structure[-1, 5, 5] / job.rod.fluid[-1, 5, 5]
    return job, settings._replace(memory=LONG_MEMORY if mass < LIGHT else settings.memory)
