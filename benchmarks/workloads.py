"""The work that is timed, shared by the benchmarks and by the report."""

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from threadpoolctl import threadpool_limits

from simsoft.bodies.rod.equilibrium import make_stream, rest_branch
from simsoft.bodies.rod.setup import prepare_rod
from simsoft.bodies.rod.stability import find_onset
from simsoft.bodies.rod.stepper import ENERGY_TERMS, HISTORY_COLUMNS, advance
from simsoft.case.model import Case, MaterialInput, Part, Scenario, Taper, WaterInput
from simsoft.case.read import load
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.mechanics.rotation import quaternion_from_vector

ROOT = Path(__file__).resolve().parent.parent
DOWNSTREAM = np.array([1.0, 0.0, 0.0])
SIMULATED = 5.0  # [s]
STEP = 1.0e-3  # [s]
SPEED = 0.4  # [m/s]
SAMPLES = 40  # speeds of a start-speed search
# [s] of one core, and [MB]
TARGETS = {
    "march 40": 0.25,
    "march 16": 0.06,
    "rest and onset": 0.2,
    "run": 3.0,
    "lure": 5.0,
    "memory": 400.0,
    "help": 0.5,
}


def ready_tail(elements):
    """Return a 60 x 6 x 1 mm strip of 120 kPa with all section loads, ready to be solved."""
    part = Part(
        name="tail",
        kind="strip",
        length=0.06,
        width=Taper((0.0, 1.0), (0.006, 0.006)),
        thickness=Taper((0.0, 1.0), (0.001, 0.001)),
    )
    case = Case(
        title="bench",
        water=WaterInput(),
        material=MaterialInput(youngs_modulus=120e3, density=1070.0, loss_factor=0.16),
        parts=(part,),
        scenarios=(Scenario("stream", "retrieve", (SPEED,)),),
    )
    return prepared(case, elements)


def ready_ribbon(elements):
    """Return the demo ribbon, ready to be solved."""
    return prepared(load(ROOT / "cases" / "ribbon_150.toml"), elements)


def prepared(case, elements):
    """Return the first strip of a case at its central inputs."""
    lure = assemble(case)
    strip = lure.strips[0]
    return prepare_rod(
        Specimen(strip, lure.water, values_of(strip), gravity=True, elements=elements)
    )


def make_flight(elements, reactive=True):
    """Return a function that marches the tail for five seconds in space and checks that it did."""
    ready = ready_tail(elements)
    stream = make_stream(SPEED, DOWNSTREAM)
    rest = rest_branch(ready.resting_rod(), np.array([SPEED]), DOWNSTREAM)[0].angle
    rod = ready.moving_rod(rest, stream, 3.0)
    if not reactive:
        rod = rod._replace(reactive=0.0)
    steps, stride = round(SIMULATED / STEP), 5
    kick = np.array([0.02, 0.2, 0.05]) / elements  # off the plane: bending both ways and twist

    def flight():
        quaternion = np.zeros((elements, 4))
        for k in range(elements):
            quaternion_from_vector(rest[k] + kick, quaternion[k])
        history = np.zeros((steps // stride, HISTORY_COLUMNS))
        done = advance(
            rod, stream, STEP, steps, stride, False, quaternion, np.zeros((4, elements, 6)),
            np.zeros(4), np.zeros((2, ENERGY_TERMS)), history,
            np.zeros((steps // stride, elements, 6)),
        )  # fmt: skip
        assert done == steps
        assert np.isfinite(history).all()
        return history

    flight()
    return flight


def search_speeds():
    """Return the speeds [m/s] of a start-speed search."""
    return np.geomspace(2.5 / 60.0, 2.5, SAMPLES)


def make_rest(elements):
    """Return a function that follows the demo ribbon's rest shape over all speeds."""
    ready = ready_ribbon(elements)
    rod = ready.resting_rod()

    def rest():
        with threadpool_limits(limits=1, user_api="blas"):  # as the engine does
            found = rest_branch(rod, search_speeds(), DOWNSTREAM)
        assert all(shape.found for shape in found)
        return found

    rest()
    return rest


def make_onset(elements):
    """Return a function that searches the demo ribbon's start speed, rest shapes included."""
    ready = ready_ribbon(elements)

    def onset():
        with threadpool_limits(limits=1, user_api="blas"):  # as the engine does
            found = find_onset(
                ready.rod, ready.resting_modulus, ready.material, search_speeds(), DOWNSTREAM
            )
        assert found.crossings
        return found

    onset()
    return onset


def paddle_run():
    """Run the paddle demo as a user does and return seconds and the peak memory [MB]."""
    return command("run", str(ROOT / "cases" / "paddle_100.toml"))


def lure_run():
    """Run a lure with three appendages: fall, retrieve, hook clearance and cast, with bands."""
    return command("run", str(ROOT / "benchmarks" / "three_parts.toml"))


def command(*arguments):
    """Run simsoft in a fresh process; return seconds and the peak memory [MB] of children so far.

    The peak is the largest child of this process yet, so that the smaller commands have to come
    first where theirs is wanted.
    """
    with tempfile.TemporaryDirectory() as directory:
        begin = time.perf_counter()
        subprocess.run(
            [sys.executable, "-m", "simsoft", *arguments],
            cwd=directory,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            check=True,
        )
        seconds = time.perf_counter() - begin
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024.0
    return seconds, peak


def import_time(module):
    """Return the seconds a fresh interpreter takes to import a module, its own start left out."""
    program = (
        f"import time; t = time.perf_counter(); import {module}; print(time.perf_counter() - t)"
    )
    found = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    return float(found.stdout)
