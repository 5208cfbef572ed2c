"""A claw that bends as a plate: its job, a tiny march of it, and what the command says of it."""

from pathlib import Path

import numpy as np
import pytest

from simsoft.case.read import load
from simsoft.cli import main as cli
from simsoft.cli.resolve import job_at, scenario_of, strip_of
from simsoft.resolved.answer import basis_of, beat_in, records_of
from simsoft.resolved.choose import LONG_MEMORY, settings_for, suited
from simsoft.resolved.pieces import CLAMP
from simsoft.resolved.processor import ProcessorFlow
from simsoft.resolved.run import lay_out, march_flow
from simsoft.resolved.slices import slice_of

CLAW = Path(__file__).parents[2] / "cases" / "claw_95.toml"
SPEED = 0.4


@pytest.fixture(scope="module")
def job():
    case = load(CLAW)
    strip, water = strip_of(case, "claw_95")
    assert strip.solved_as == "plate"
    return job_at(case, strip, water, scenario_of(case, "claw_95"), SPEED)


def test_a_claw_s_slabs_cover_its_outline(job):
    """Area of the slabs against that of a neck of 5 mm and a pad of 14 mm, a taper between."""
    table, forms = job.pieces.table, job.pieces.forms
    corners = table[(forms[:, 5].astype(int)[:, None] + np.arange(4)), :2]
    a, b = corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1]
    area = 0.5 * np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum()
    assert job.size == pytest.approx(0.014)
    assert 0.7 * 0.034 * 0.014 < area < 0.95 * 0.034 * 0.014
    assert (job.pieces.link != CLAMP).all()


def test_a_claw_is_light_and_fits_its_box(job):
    settings = suited(settings_for("quick", None), job)
    assert settings.memory == LONG_MEMORY
    grid = lay_out(job, settings)
    window = np.reshape(grid.domain.window, (3, 2))
    for node in job.sheet.root + job.sheet.state[:, :3]:
        cells = (node - grid.origin) / grid.cell
        assert (window[:, 0] < cells).all()
        assert (cells < window[:, 1]).all()


def test_a_claw_folds_back_and_its_records_say_what_they_rest_on(job):
    settings = suited(settings_for("quick", 8), job)._replace(cells=6, hold=1.0, longest=2.0)
    grid, point, flow = march_flow(job, settings, ProcessorFlow)
    middle, tip = job.sheet.marks[len(job.sheet.marks) // 2, 0], job.sheet.marks[-1, 0]
    moved = point.sheet.motion[0][middle, :3] - job.sheet.state[middle, :3]
    assert moved[0] > 0.001  # downstream and down: the neck gives way first
    assert moved[2] < -0.001
    assert abs(moved[1]) < 0.1 * moved[0]
    history = point.history
    assert np.isfinite(history.load).all()
    found = {r.quantity: r for r in records_of("retrieve", job, settings, beat_in(job, point),
                                               {"speed": SPEED})}  # fmt: skip
    assert set(found) == {"stroke", "flap_frequency", "fold_back", "drag", "side_force"}
    drag = found["drag"]
    assert drag.value > 0.0
    own = job.sheet.plate.thickness.mean(axis=1).min()
    assert 0.0008 < own < 0.00083  # the tip, as the case says
    assert drag.low == pytest.approx(drag.value * own / (1.5 * job.size / 6))
    assert "a plate that stands 3.5 mm thick" in basis_of(job, settings)  # 1.5 cells of 14/6 mm
    shown = slice_of(grid, point, flow.populations(), job.sheet)
    assert shown.centres[-1] == pytest.approx(job.sheet.root + point.sheet.motion[0][tip, :3])


def test_the_command_takes_a_claw_and_says_what_it_costs(capsys, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    words = ["resolve", str(CLAW), "--cost", "--quick", "--cells", "8", "--device", "cpu"]
    with pytest.raises(SystemExit) as caught:
        cli.main([*words, "--speed", "0.4 m/s"])
    assert caught.value.code == 0
    out = capsys.readouterr().out
    assert "claw at 0.4 m per s" in out
    assert "million cells" in out
