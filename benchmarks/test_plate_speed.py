"""How fast plates are: ``pytest benchmarks/test_plate_speed.py``; times beside their targets."""

import time
from dataclasses import replace

import numpy as np
import pytest
from workloads import ROOT

from simsoft.bodies.plate.modes import plate_modes
from simsoft.bodies.plate.setup import prepare_plate
from simsoft.case.read import load
from simsoft.hydrodynamics.plate.panels import make_panels, panel_added_mass
from simsoft.lure.assembly import assemble_whole
from simsoft.lure.free_lure import build_free
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.lure.plate_model import build_plate
from simsoft.scenarios.free.fall import fall
from simsoft.scenarios.retrieve.marcher import Detail
from simsoft.scenarios.retrieve.plate import PlateInStream
from simsoft.validate.plate_checks import rectangle

# [s] of one core
TARGETS = {"panels": 1.0, "modes": 2.0, "march": 10.0, "falls": 30.0}


def claw():
    """Return the demo claw as a plate, its water and its stream."""
    case = load(ROOT / "cases" / "claw_95.toml", ["parts.claw.model=plate"])
    lure = assemble(case)
    scenario = next(s for s in case.scenarios if s.kind == "retrieve")
    return lure.strips[0], lure.water, scenario


def panels():
    panel_added_mass(make_panels(*rectangle(1.25, 1.0, 25, 20)))


def modes():
    strip, water, _ = claw()
    model = build_plate(Specimen(strip, water, values_of(strip), gravity=True, elements=40))
    assert len(model.planform.quads) >= 600
    plate_modes(model, model.plate, 1e5, model.state, 3)


def march():
    strip, water, scenario = claw()
    solver = PlateInStream(
        prepare_plate(Specimen(strip, water, values_of(strip), gravity=True)),
        replace(scenario, duration=3.0),
        Detail(),
    )
    solver.at(0.8, solver.rests(np.array([0.8]))[0])


def falls():
    """Let the demo creature with its two claws as plates fall for three seconds."""
    case = load(ROOT / "cases" / "creature_95.toml", ["parts.claw.model=plate"])
    fall(build_free(assemble_whole(case, assemble(case))), longest=3.0)


@pytest.mark.parametrize("work", [panels, modes, march, falls], ids=lambda work: work.__name__)
def test_plate(work, capsys):
    """One warm run of each, in seconds of processor time."""
    work()
    begun = time.process_time()
    work()
    seconds = time.process_time() - begun
    with capsys.disabled():
        print(f"\n{work.__name__}: {seconds:.3g} s, target {TARGETS[work.__name__]:g} s")
    assert seconds < 3.0 * TARGETS[work.__name__]
