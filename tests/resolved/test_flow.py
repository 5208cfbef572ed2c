"""The flow on the processor, on grids so small that they take seconds."""

import math
import os
import subprocess
import sys
import textwrap

import numpy as np
import pytest
from tanks import TAIL, TINY, ball_domain, ball_form, ball_job, ball_poses, surge

from simsoft.case.read import loads
from simsoft.core.errors import InputError, SolveError
from simsoft.lure.parts import assemble, values_of
from simsoft.resolved.choose import card_there, estimate_run, maker, settings_for
from simsoft.resolved.domain import PERIODIC, uniform, window_of
from simsoft.resolved.keep import keep_point, kept_point
from simsoft.resolved.processor import ProcessorFlow
from simsoft.resolved.run import lay_out, march_flow
from simsoft.resolved.tail import tail_job

NO_TABLE = np.zeros((1, 3), np.float32)


def test_a_stream_without_solids_stays_as_it_is():
    domain = ball_domain(sides=(0.5, PERIODIC))
    flow = ProcessorFlow(domain, ball_form(1e-3), NO_TABLE)
    flow.advance(ball_poses(12, velocity=(0.0, 0.0, 0.0)))
    assert np.abs(flow.populations() - uniform(domain)).max() < 2e-6


def test_a_ball_that_goes_with_the_stream_feels_next_to_nothing():
    """Its wall moves with the water, so neither walls nor fresh cells may push."""
    domain = ball_domain()
    riding = ProcessorFlow(domain, ball_form(), NO_TABLE)
    with_it = riding.advance(ball_poses(40, velocity=(domain.speed, 0.0, 0.0)))[0]
    held = ProcessorFlow(domain, ball_form(), NO_TABLE)
    against = held.advance(ball_poses(40, velocity=(0.0, 0.0, 0.0)))[0]
    assert abs(with_it[0]) < 0.01 * against[0]


def test_a_ball_on_the_axis_of_its_box_is_loaded_along_the_stream_alone():
    domain = ball_domain()
    flow = ProcessorFlow(domain, ball_form(), NO_TABLE)
    load = flow.advance(ball_poses(60, centre=(20.0, 7.5, 7.5), velocity=(0, 0, 0)))[0]
    assert load[0] > 0.0
    assert np.abs(load[1:]).max() < 1e-4 * load[0]


def test_loads_turn_with_the_ball_s_place():
    """The same ball off the axis by as much in y as in z is pushed alike in both."""
    flow = ProcessorFlow(ball_domain(), ball_form(), NO_TABLE)
    load = flow.advance(ball_poses(60, centre=(20.3, 6.9, 6.9), velocity=(0, 0, 0)))[0]
    assert load[1] == pytest.approx(load[2], abs=1e-5 * load[0])
    assert load[4] == pytest.approx(-load[5], abs=1e-5 * load[0])


@pytest.mark.slow
def test_an_oscillating_ball_is_loaded_as_stokes_and_basset_say():
    """Exact for small motions in still water (Landau & Lifshitz, Fluid Mechanics, section 24).

    At Re 23 of pace and size the layer along the wall is a sixth of the diameter: 1.3 cells here.
    Measured at 8 cells: 8 % in phase; at 12 cells 4.7 and 2.4 %; the error falls with the cells.
    """
    reynolds, rate, amplitude = 23.0, 0.5, 0.02
    job = surge(ball_job(reynolds=reynolds, still=True), rate, amplitude)
    settings = TINY._replace(cells=8, across=5.0, ahead=2.5, behind=2.5, stride=4, hold=0.0,
                             longest=8.0, smagorinsky=0.0)  # fmt: skip
    _, point, _ = march_flow(job, settings, ProcessorFlow)
    omega = 2.0 * math.pi * rate * job.pace / job.size
    time, force = point.history.time, point.history.load[:, 0, 0]
    late = time > 4.0 * job.size / job.pace
    base = np.column_stack([np.sin(omega * time), np.cos(omega * time), np.ones_like(time)])
    found = np.linalg.lstsq(base[late], force[late], rcond=None)[0]
    radius, layer = 0.5 * job.size, math.sqrt(2.0 * job.viscosity / omega)
    way, viscosity = amplitude * job.size, job.density * job.viscosity
    inertia = 3.0 * math.pi * job.density * layer * radius**2 * (1.0 + 2.0 * radius / 9.0 / layer)
    drag = 6.0 * math.pi * viscosity * radius * (1.0 + radius / layer)
    assert found[0] == pytest.approx(inertia * omega**2 * way, rel=0.12)
    assert found[1] == pytest.approx(-drag * omega * way, rel=0.12)


def small_tail():
    case = loads(TAIL)
    lure = assemble(case)
    strip = lure.strips[0]
    return tail_job(
        strip, lure.water, values_of(strip), speed=0.5, modulus=2.0e5, damping_time=0.005,
        elements=4,
    )  # fmt: skip


def test_a_run_repeats_to_the_bit_and_goes_on_from_where_it_was_kept(tmp_path):
    job = small_tail()
    settings = TINY._replace(cells=6, longest=1.0, hold=0.3)
    _, whole, flow = march_flow(job, settings, ProcessorFlow)
    path = tmp_path / "stopped.h5"

    def stop(point, rows, running):
        if point.row == 20:
            keep_point(path, job, settings, point, running.populations())
            return False
        return True

    march_flow(job, settings, ProcessorFlow, stop, rows_told=10)
    start = kept_point(path, job, settings)
    assert start[0].row == 20
    _, later, again = march_flow(job, settings, ProcessorFlow, start=start)
    assert later.row == whole.row
    for one, other in zip(whole.history, later.history, strict=True):
        assert np.array_equal(one, other)
    assert np.array_equal(flow.populations(), again.populations())


def test_a_kept_run_of_another_case_is_refused(tmp_path):
    job, path = ball_job(), tmp_path / "stopped.h5"
    _, point, flow = march_flow(job, TINY._replace(longest=0.6), ProcessorFlow)
    keep_point(path, job, TINY, point, flow.populations())
    with pytest.raises(InputError, match="belongs to another case or grid"):
        kept_point(path, job._replace(speed=0.4), TINY)
    path.write_bytes(b"not a file of ours")
    with pytest.raises(InputError, match="cannot be read"):
        kept_point(path, job, TINY)


def test_the_window_holds_the_solids_and_the_walls_are_not_met_in_silence():
    domain = ball_domain()
    x0, x1, y0, y1, _, _ = window_of(domain, ball_form(), ball_poses())
    assert x0 <= 20.37 - 2 < 20.38 + 2 <= x1
    assert y0 <= 7.6 - 2 < 7.6 + 2 <= y1
    with pytest.raises(SolveError, match="meets the walls"):
        window_of(domain, ball_form(), ball_poses(centre=(12.0, 7.0, 7.0)))
    wild = ball_poses()
    wild[0, 0, 0] = np.nan
    with pytest.raises(SolveError, match="not finite"):
        window_of(domain, ball_form(), wild)


def test_the_box_keeps_reynolds_number_and_distances():
    job = small_tail()
    settings = settings_for("standard", None)
    grid = lay_out(job, settings)
    assert grid.domain.speed * settings.cells / grid.domain.viscosity == pytest.approx(job.reynolds)
    assert job.centre[0] - grid.origin[0] == pytest.approx(settings.ahead * job.size)
    x0, x1, *_ = grid.domain.window
    assert x0 > 0
    assert x1 < grid.domain.shape[0]


def test_cost_and_choice_of_grid():
    found = estimate_run(ball_job(), TINY, ProcessorFlow)
    assert found.seconds > 0.0
    assert found.memory == pytest.approx(152.0 * found.cells)
    assert settings_for("fine", None).cells > settings_for("quick", None).cells
    with pytest.raises(InputError, match="--cells 3"):
        settings_for("quick", 3)


@pytest.mark.skipif(card_there() is None, reason="a graphics card is here")
def test_without_a_card_the_word_is_clear():
    with pytest.raises(InputError, match=r"--device gpu: .*--device cpu"):
        maker("gpu")
    assert maker("auto")[0] == "cpu"


SIMULATED = """
    import sys
    import numpy as np
    sys.path.insert(0, {tests!r})
    from tanks import ball_domain, ball_form, ball_poses
    from simsoft.resolved.card import CardFlow
    flow = CardFlow(ball_domain(sides=(0.5, -1.0)), ball_form(), np.zeros((1, 3), np.float32))
    load = flow.advance(ball_poses(1))
    np.savez({out!r}, load=load, populations=flow.populations())
"""


@pytest.mark.slow
def test_the_card_s_kernels_give_what_the_processor_s_give(tmp_path):
    """Run in the compiler's simulator of a card, which needs no card."""
    flow = ProcessorFlow(ball_domain(sides=(0.5, PERIODIC)), ball_form(), NO_TABLE)
    load = flow.advance(ball_poses(1))
    out = tmp_path / "card.npz"
    program = textwrap.dedent(SIMULATED).format(tests=os.path.dirname(__file__), out=str(out))
    environment = os.environ | {"NUMBA_DISABLE_JIT": "1", "NUMBA_ENABLE_CUDASIM": "1"}
    subprocess.run([sys.executable, "-c", program], env=environment, check=True, timeout=600)
    card = np.load(out)
    assert card["load"] == pytest.approx(load, rel=1e-6, abs=1e-9)
    assert np.abs(card["populations"] - flow.populations()).max() < 1e-7
